/* SPDX-License-Identifier: MIT
 *
 * Units of force and of what else an indicator may show, and the exact factors between the systems.
 * SI inside, always: loads are held as integers in micronewtons (exact for every decimal an
 * indicator sends in N or kN), lengths as integers in micrometres (0.25 mm and 0.01 in are both
 * whole numbers of them). Factors: 1 lbf = 4.4482216152605 N and 1 in = 25.4 mm exactly
 * (international pound and inch, standard gravity 9.80665 m/s2), so 1 psi = 6894.757293168361...
 * Pa.
 */
#ifndef BASE_UNITS_H
#define BASE_UNITS_H

#include "base/decimal.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define UNITS_UN_PER_N INT64_C(1000000)
#define UNITS_UM_PER_MM INT64_C(1000)
#define UNITS_UM_PER_INCH INT64_C(25400)
#define UNITS_NEWTON_PER_LBF 4.4482216152605
#define UNITS_PASCAL_PER_PSI 6894.757293168361
#define UNITS_PASCAL_PER_MPA 1e6

/* Largest load that the program represents, in micronewtons: 100 MN. Everything larger is refused
 * where it enters, so that exact sums in lib/judge cannot overflow. */
#define UNITS_LOAD_UN_MAX INT64_C(100000000000000)

enum unit {
	UNIT_NONE, /* the line carried no unit */
	UNIT_NEWTON,
	UNIT_KILONEWTON,
	UNIT_MEGANEWTON,
	UNIT_KILOGRAM_FORCE,
	UNIT_TONNE_FORCE,
	UNIT_POUND_FORCE,
	UNIT_KIP,
	/* No forces: a load needs a factor that makes one of them. */
	UNIT_PASCAL, /* a pressure times an area in square metres */
	UNIT_KILOPASCAL,
	UNIT_MEGAPASCAL,
	UNIT_BAR,
	UNIT_PSI,
	UNIT_COUNTS,   /* times newtons a count */
	UNIT_MV_PER_V, /* times newtons a mV/V */
	UNIT_COUNT,
};

enum units_kind {
	UNITS_NO_KIND, /* UNIT_NONE */
	UNITS_FORCE,
	UNITS_PRESSURE,
	UNITS_SIGNAL,
};

enum units_kind units_kind(enum unit unit);

/* Reads "N", "kN", "MN", "kgf", "kg", "tf", "t", "lbf", "lb", "kip", "Pa", "kPa", "MPa", "bar",
 * "psi", "counts", "mV/V" (whole text, as written). False on anything else. Mass units are taken as
 * forces under standard gravity, as the indicators of the weighing trade mean them; a config has to
 * ask for that (see measure/scale.h). */
bool units_parse(const char *text, size_t length, enum unit *unit);

/* "kN" and so on; "" for UNIT_NONE. Static text. */
const char *units_text(enum unit unit);

/* The load in micronewtons, rounded half to even below one micronewton (never for N and kN with up
 * to 6 or 9 decimals). False for what is no force or beyond UNITS_LOAD_UN_MAX. */
bool units_load_un(enum unit unit, struct decimal value, int64_t *load_un);

/* The same for value x factor, rounded once; a pressure or a signal has a factor that makes it a
 * force. False for UNIT_NONE. */
bool units_product_un(
	enum unit unit, struct decimal value, struct decimal factor, int64_t *load_un);

/* What a digit at this exponent is worth, in micronewtons, where that is whole and fits: the
 * product above is then so many times the digits. 0: it is not so. */
int64_t units_digit_un(enum unit unit, int exponent, struct decimal factor);

#endif
