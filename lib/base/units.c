/* SPDX-License-Identifier: MIT
 *
 * The table of units. Every factor is an exact decimal, so that a load is rounded once at most, at
 * the last micronewton.
 */
#include "base/units.h"

#include "base/wide.h"

#include <assert.h>
#include <string.h>

/* One unit is mantissa x 10^exponent micronewtons. */
struct row {
	const char *text;
	int64_t mantissa;
	int exponent;
};

/* kgf: standard gravity 9.80665 m/s2. lbf: 0.45359237 kg x 9.80665 m/s2 = 4.4482216152605 N. */
static const struct row rows[] = {
	[UNIT_NONE] = {"", 0, 0},
	[UNIT_NEWTON] = {"N", 1, 6},
	[UNIT_KILONEWTON] = {"kN", 1, 9},
	[UNIT_MEGANEWTON] = {"MN", 1, 12},
	[UNIT_KILOGRAM_FORCE] = {"kgf", 980665, 1},
	[UNIT_TONNE_FORCE] = {"tf", 980665, 4},
	[UNIT_POUND_FORCE] = {"lbf", INT64_C(44482216152605), -7},
	[UNIT_KIP] = {"kip", INT64_C(44482216152605), -4},
};

enum { ROW_COUNT = sizeof(rows) / sizeof(rows[0]) };

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
	for (int i = UNIT_NONE + 1; i < ROW_COUNT; i++) {
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

const char *units_text(enum unit unit)
{
	assert((int)unit >= 0 && (int)unit < ROW_COUNT);
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

bool units_product_un(enum unit unit, struct decimal value, struct decimal factor, int64_t *load_un)
{
	assert((int)unit >= 0 && (int)unit < ROW_COUNT);
	if (unit == UNIT_NONE)
		return false;
	wide product = (wide)value.mantissa * factor.mantissa;
	int exponent = value.exponent + factor.exponent;
	/* 24 digits times the fourteen of lbf still fit. More digits than that are ten powers of
	 * ten below a micronewton in the largest load: they are rounded away first. */
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
	return units_product_un(unit, value, (struct decimal){1, 0}, load_un);
}
