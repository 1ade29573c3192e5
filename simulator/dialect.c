/* SPDX-License-Identifier: MIT
 *
 * The table of dialects. Rounding is done once, to the resolution and then to the digits of the
 * line, as an indicator does it.
 */
#include "dialect.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* Newtons in one unit. Asked for a thousand units, since the library answers in whole micronewtons
 * and a pound-force is no whole number of them. */
static double unit_newton(enum unit unit)
{
	int64_t load_un = 0;
	bool known = units_load_un(unit, (struct decimal){1000, 0}, &load_un);
	assert(known);
	return (double)load_un / 1000 / (double)UNITS_UN_PER_N;
}

static void write_digits(const struct dialect_setup *setup, double load_newton, char *digits)
{
	assert(setup->decimals >= 0 && setup->decimals <= DIALECT_DECIMALS_MAX);
	if (setup->resolution_newton > 0)
		load_newton = nearbyint(load_newton / setup->resolution_newton) *
			      setup->resolution_newton;
	double value = load_newton / unit_newton(setup->unit);
	decimal_text(decimal_round_even(value, 1, -setup->decimals), setup->decimals, digits);
}

/* Value right-aligned in nine columns, a space, the unit: "   123.45 kN". */
static size_t write_plain(const struct dialect_setup *setup, double load_newton, char *bytes)
{
	char digits[24];
	write_digits(setup, load_newton, digits);
	int length =
		snprintf(bytes, DIALECT_LINE_MAX, "%9s %s\r\n", digits, units_text(setup->unit));
	assert(length > 0 && length < DIALECT_LINE_MAX);
	return (size_t)length;
}

static const struct dialect table[] = {
	{"plain", "value and unit on a text line, ended by CR LF", write_plain},
	{NULL, NULL, NULL},
};

const struct dialect *dialect_table(void)
{
	return table;
}

const struct dialect *dialect_find(const char *name)
{
	for (const struct dialect *entry = table; entry->name != NULL; entry++)
		if (strcmp(entry->name, name) == 0)
			return entry;
	return NULL;
}
