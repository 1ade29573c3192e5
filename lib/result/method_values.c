/* SPDX-License-Identifier: MIT */
#include "result/method_values.h"

#include "base/decimal.h"
#include "base/units.h"

#include <string.h>

const struct method_unit method_units_none[] = {{"", 1, 1}, {NULL, 0, 0}};
const struct method_unit method_units_length[] = {
	{"mm", (double)UNITS_UM_PER_MM, 1}, {"in", (double)UNITS_UM_PER_INCH, 1}, {NULL, 0, 0}};
const struct method_unit method_units_share[] = {{"%", 1, 100}, {NULL, 0, 0}};
const struct method_unit method_units_percent[] = {{"%", 1, 1}, {NULL, 0, 0}};
const struct method_unit method_units_angle[] = {{"deg", 1, 1}, {NULL, 0, 0}};
const struct method_unit method_units_time[] = {
	{"s", 1, 1}, {"min", 60, 1}, {"h", 3600, 1}, {"d", 86400, 1}, {NULL, 0, 0}};
const struct method_unit method_units_stress[] = {
	{"MPa", UNITS_PASCAL_PER_MPA, 1}, {"psi", UNITS_PASCAL_PER_PSI, 1}, {NULL, 0, 0}};

/* The number that text begins with; *rest: what comes after it and blanks. */
static bool begin_number(const char *text, struct decimal *decimal, const char **rest)
{
	size_t length = strspn(text, "0123456789.");
	if (!decimal_parse(text, length, decimal) || decimal->mantissa <= 0)
		return false;
	*rest = text + length + strspn(text + length, " \t");
	return true;
}

static const struct method_unit *find_unit(const struct method_unit *units, const char *text)
{
	for (; units->text; units++) {
		if (strcmp(units->text, text) == 0)
			return units;
	}
	return NULL;
}

static double in_unit(struct decimal decimal, const struct method_unit *unit)
{
	return decimal_double(decimal) * unit->times / unit->divided;
}

bool method_value(const char *text, const struct method_unit *units, double *value)
{
	struct decimal decimal;
	const char *rest;
	if (!begin_number(text, &decimal, &rest))
		return false;
	const struct method_unit *unit = find_unit(units, rest);
	if (unit)
		*value = in_unit(decimal, unit);
	return unit != NULL;
}

bool method_value_range(
	const char *text, const struct method_unit *units, double *low, double *high)
{
	static const char to[] = "to ";
	struct decimal first, second;
	const char *rest;
	if (!begin_number(text, &first, &rest) || strncmp(rest, to, sizeof to - 1) != 0 ||
		!begin_number(rest + sizeof to - 1, &second, &rest))
		return false;
	const struct method_unit *unit = find_unit(units, rest);
	if (!unit)
		return false;
	*low = in_unit(first, unit);
	*high = in_unit(second, unit);
	return *low < *high;
}

bool method_value_count(const char *text, int high, int *value)
{
	struct decimal decimal;
	const char *rest;
	if (!begin_number(text, &decimal, &rest) || *rest || decimal.exponent != 0 ||
		decimal.mantissa > high)
		return false;
	*value = (int)decimal.mantissa;
	return true;
}

bool method_value_step(const char *text, int *step, int *exponent, const char **unit)
{
	enum { STEP_MAX = 1000 };
	struct decimal decimal;
	if (!begin_number(text, &decimal, unit) || decimal.mantissa > STEP_MAX)
		return false;
	*step = (int)decimal.mantissa;
	*exponent = decimal.exponent;
	return true;
}

static char *trim(char *text)
{
	text += strspn(text, " \t");
	size_t length = strlen(text);
	while (length > 0 && (text[length - 1] == ' ' || text[length - 1] == '\t'))
		text[--length] = '\0';
	return text;
}

size_t method_value_parts(char *text, char *parts[METHOD_PARTS_MAX])
{
	size_t count = 0;
	while (text) {
		char *colon = count + 1 < METHOD_PARTS_MAX ? strchr(text, ':') : NULL;
		if (colon)
			*colon++ = '\0';
		parts[count++] = trim(text);
		text = colon;
	}
	return count;
}
