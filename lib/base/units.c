/* SPDX-License-Identifier: MIT
 *
 * The table of units. Every factor is an exact decimal, so that a load is rounded once at most, at
 * the last micronewton.
 */
#include "base/units.h"

#include "base/wide.h"

#include <assert.h>
#include <string.h>

/* One unit (times one square metre, times one newton) is mantissa x 10^exponent micronewtons. */
struct row {
	const char *text;
	int64_t mantissa;
	int exponent;
	enum units_kind kind;
};

/* kgf: standard gravity 9.80665 m/s2. lbf: 0.45359237 kg x 9.80665 m/s2 = 4.4482216152605 N. psi:
 * that over (0.0254 m)2, which no decimal ends: fourteen digits of it. */
static const struct row rows[] = {
	[UNIT_NONE] = {"", 0, 0, UNITS_NO_KIND},
	[UNIT_NEWTON] = {"N", 1, 6, UNITS_FORCE},
	[UNIT_KILONEWTON] = {"kN", 1, 9, UNITS_FORCE},
	[UNIT_MEGANEWTON] = {"MN", 1, 12, UNITS_FORCE},
	[UNIT_KILOGRAM_FORCE] = {"kgf", 980665, 1, UNITS_FORCE},
	[UNIT_TONNE_FORCE] = {"tf", 980665, 4, UNITS_FORCE},
	[UNIT_POUND_FORCE] = {"lbf", INT64_C(44482216152605), -7, UNITS_FORCE},
	[UNIT_KIP] = {"kip", INT64_C(44482216152605), -4, UNITS_FORCE},
	[UNIT_PASCAL] = {"Pa", 1, 6, UNITS_PRESSURE},
	[UNIT_KILOPASCAL] = {"kPa", 1, 9, UNITS_PRESSURE},
	[UNIT_MEGAPASCAL] = {"MPa", 1, 12, UNITS_PRESSURE},
	[UNIT_BAR] = {"bar", 1, 11, UNITS_PRESSURE},
	[UNIT_PSI] = {"psi", INT64_C(68947572931684), -4, UNITS_PRESSURE},
	[UNIT_COUNTS] = {"counts", 1, 6, UNITS_SIGNAL},
	[UNIT_MV_PER_V] = {"mV/V", 1, 6, UNITS_SIGNAL},
};

_Static_assert(sizeof(rows) / sizeof(rows[0]) == UNIT_COUNT, "a unit has no row");

/* What the weighing trade writes for the same thing. */
static const struct {
	const char *text;
	enum unit unit;
} aliases[] = {
	{"kg", UNIT_KILOGRAM_FORCE},
	{"t", UNIT_TONNE_FORCE},
	{"lb", UNIT_POUND_FORCE},
};

static bool same(const char *text, size_t length, const char *name)
{
	return strlen(name) == length && memcmp(text, name, length) == 0;
}

bool units_parse(const char *text, size_t length, enum unit *unit)
{
	for (int i = UNIT_NONE + 1; i < UNIT_COUNT; i++) {
		if (same(text, length, rows[i].text)) {
			*unit = (enum unit)i;
			return true;
		}
	}
	for (size_t i = 0; i < sizeof(aliases) / sizeof(aliases[0]); i++) {
		if (same(text, length, aliases[i].text)) {
			*unit = aliases[i].unit;
			return true;
		}
	}
	return false;
}

enum units_kind units_kind(enum unit unit)
{
	assert((int)unit >= 0 && (int)unit < UNIT_COUNT);
	return rows[unit].kind;
}

const char *units_text(enum unit unit)
{
	assert((int)unit >= 0 && (int)unit < UNIT_COUNT);
	return rows[unit].text;
}

/* value x 10^shift, rounded half to even; false beyond the largest load. */
static bool shift_into_load(wide value, int shift, int64_t *load_un)
{
	if (shift < -38)
		value = 0;
	else if (shift < 0)
		value = wide_divide_even(value, wide_power_of_ten(-shift));
	for (; shift > 0 && value != 0; shift--) {
		if (value > UNITS_LOAD_UN_MAX || value < -UNITS_LOAD_UN_MAX)
			return false;
		value *= 10;
	}
	if (value > UNITS_LOAD_UN_MAX || value < -UNITS_LOAD_UN_MAX)
		return false;
	*load_un = (int64_t)value;
	return true;
}

int64_t units_digit_un(enum unit unit, int exponent, struct decimal factor)
{
	static const int64_t powers[] = {1, 10, 100, 1000, 10000, 100000, 1000000, 10000000,
		100000000, 1000000000, 10000000000, 100000000000, 1000000000000};
	assert((int)unit >= 0 && (int)unit < UNIT_COUNT);
	int shift = exponent + factor.exponent + rows[unit].exponent;
	int64_t digit;
	if (shift < 0 || shift >= (int)(sizeof(powers) / sizeof(powers[0])))
		return 0;
	if (__builtin_mul_overflow(factor.mantissa, rows[unit].mantissa, &digit) ||
		__builtin_mul_overflow(digit, powers[shift], &digit))
		return 0;
	return digit;
}

bool units_product_un(enum unit unit, struct decimal value, struct decimal factor, int64_t *load_un)
{
	assert((int)unit >= 0 && (int)unit < UNIT_COUNT);
	if (unit == UNIT_NONE)
		return false;
	int64_t digit = units_digit_un(unit, value.exponent, factor), load;
	if (digit != 0 && !__builtin_mul_overflow(value.mantissa, digit, &load) &&
		load <= UNITS_LOAD_UN_MAX && load >= -UNITS_LOAD_UN_MAX) {
		*load_un = load;
		return true;
	}
	wide product = (wide)value.mantissa * factor.mantissa;
	int exponent = value.exponent + factor.exponent;
	/* 24 digits times the fourteen of lbf and psi still fit. More digits than that are ten
	 * powers of ten below a micronewton in the largest load: they are rounded away first. */
	const wide largest = wide_power_of_ten(24);
	while (product >= largest || product <= -largest) {
		product = wide_divide_even(product, 10);
		exponent++;
	}
	return shift_into_load(
		product * rows[unit].mantissa, exponent + rows[unit].exponent, load_un);
}

bool units_load_un(enum unit unit, struct decimal value, int64_t *load_un)
{
	return units_kind(unit) == UNITS_FORCE &&
	       units_product_un(unit, value, (struct decimal){1, 0}, load_un);
}
