/* SPDX-License-Identifier: MIT
 *
 * One row a unit.
 */
#include "judge/rate_unit.h"

#include "base/units.h"

#include <assert.h>
#include <string.h>

static const double seconds_per_minute = 60;

static const struct {
	const char *text;
	bool force, inch_pound;
	int places;
} rows[RATE_UNIT_COUNT] = {
	[RATE_UNIT_MPA_S] = {"MPa/s", false, false, 3},
	[RATE_UNIT_PSI_S] = {"psi/s", false, true, 1},
	[RATE_UNIT_MPA_MIN] = {"MPa/min", false, false, 2},
	[RATE_UNIT_PSI_MIN] = {"psi/min", false, true, 1},
	[RATE_UNIT_N_S] = {"N/s", true, false, 0},
	[RATE_UNIT_LBF_S] = {"lbf/s", true, true, 0},
};

const char *rate_unit_text(enum rate_unit unit)
{
	assert(unit < RATE_UNIT_COUNT);
	return rows[unit].text;
}

bool rate_unit_parse(const char *text, enum rate_unit *unit)
{
	for (int i = 0; i < RATE_UNIT_COUNT; i++) {
		if (strcmp(rows[i].text, text) == 0) {
			*unit = (enum rate_unit)i;
			return true;
		}
	}
	return false;
}

bool rate_unit_is_force(enum rate_unit unit)
{
	assert(unit < RATE_UNIT_COUNT);
	return rows[unit].force;
}

bool rate_unit_is_inch_pound(enum rate_unit unit)
{
	assert(unit < RATE_UNIT_COUNT);
	return rows[unit].inch_pound;
}

double rate_unit_si(enum rate_unit unit)
{
	switch (unit) {
	case RATE_UNIT_MPA_S:
		return UNITS_PASCAL_PER_MPA;
	case RATE_UNIT_PSI_S:
		return UNITS_PASCAL_PER_PSI;
	case RATE_UNIT_MPA_MIN:
		return UNITS_PASCAL_PER_MPA / seconds_per_minute;
	case RATE_UNIT_PSI_MIN:
		return UNITS_PASCAL_PER_PSI / seconds_per_minute;
	case RATE_UNIT_N_S:
		return 1;
	case RATE_UNIT_LBF_S:
		return UNITS_NEWTON_PER_LBF;
	case RATE_UNIT_COUNT:
		break;
	}
	assert(false);
	return 1;
}

int rate_unit_places(enum rate_unit unit)
{
	assert(unit < RATE_UNIT_COUNT);
	return rows[unit].places;
}

int rate_unit_limit_places(enum rate_unit unit)
{
	int places = rate_unit_places(unit);
	return places > 0 ? places - 1 : 0;
}
