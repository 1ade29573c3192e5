/* SPDX-License-Identifier: MIT
 *
 * The units in which test methods limit the rate of loading. A limit is judged in the unit in which
 * it is given: bands given in two units are two bands. A method may limit the stress or the force.
 */
#ifndef JUDGE_RATE_UNIT_H
#define JUDGE_RATE_UNIT_H

#include <stdbool.h>

enum rate_unit {
	RATE_UNIT_MPA_S,
	RATE_UNIT_PSI_S,
	RATE_UNIT_MPA_MIN,
	RATE_UNIT_PSI_MIN,
	RATE_UNIT_N_S,
	RATE_UNIT_LBF_S,
	RATE_UNIT_COUNT,
};

/* "MPa/s" and so on. Static. */
const char *rate_unit_text(enum rate_unit unit);
bool rate_unit_parse(const char *text, enum rate_unit *unit);
bool rate_unit_is_force(enum rate_unit unit);
bool rate_unit_is_inch_pound(enum rate_unit unit);
/* One unit in Pa/s, or in N/s where it is one of force. */
double rate_unit_si(enum rate_unit unit);
/* Decimals of a measured rate; a limit has one less (none, where a rate has none). */
int rate_unit_places(enum rate_unit unit);
int rate_unit_limit_places(enum rate_unit unit);

#endif
