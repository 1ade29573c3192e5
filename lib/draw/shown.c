/* SPDX-License-Identifier: MIT */
#include "draw/shown.h"

#include "base/decimal.h"
#include "base/units.h"
#include "result/method.h"

#include <math.h>

static const struct shown_unit units[][2] = {
	[SHOWN_LOAD] = {{"kN", 1e3, 1}, {"lbf", UNITS_NEWTON_PER_LBF, 0}},
	[SHOWN_STRESS] = {{"MPa", UNITS_PASCAL_PER_MPA, 2}, {"psi", UNITS_PASCAL_PER_PSI, 0}},
	[SHOWN_RATE] = {{"MPa/s", UNITS_PASCAL_PER_MPA, 3}, {"psi/s", UNITS_PASCAL_PER_PSI, 1}},
	[SHOWN_RATE_LIVE] = {{"MPa/s", UNITS_PASCAL_PER_MPA, 2},
		{"psi/s", UNITS_PASCAL_PER_PSI, 0}},
};

static const struct shown_unit rates_a_minute[] = {
	{"MPa/min", UNITS_PASCAL_PER_MPA / 60, 2}, {"psi/min", UNITS_PASCAL_PER_PSI / 60, 0}};

const struct shown_unit *shown_rate_unit(const struct method *method)
{
	bool a_minute =
		method->rate_unit == RATE_UNIT_MPA_MIN || method->rate_unit == RATE_UNIT_PSI_MIN;
	return a_minute ? &rates_a_minute[method->inch_pound]
			: shown_unit(SHOWN_RATE, method->inch_pound);
}

void shown_rate_limit(const struct method *method, double rate_pa_s, struct text *text)
{
	const struct shown_unit *unit = shown_rate_unit(method);
	int places = unit->places > 0 ? unit->places - 1 : 0;
	text_fixed(text, decimal_round_even(rate_pa_s / unit->si, 1, -places), places);
}

const struct shown_unit *shown_unit(enum shown_quantity quantity, bool inch_pound)
{
	return &units[quantity][inch_pound];
}

bool shown_inch_pound(const char *method)
{
	const struct method *found = method_find(method);
	return found && found->inch_pound;
}

void shown_number(enum shown_quantity quantity, bool inch_pound, double value, struct text *text)
{
	const struct shown_unit *unit = shown_unit(quantity, inch_pound);
	/* Far beyond any press: a number that would not fit is foreign input gone wrong. */
	if (!(fabs(value / unit->si) < 1e12)) {
		text_put(text, "?");
		return;
	}
	text_fixed(text, decimal_round_even(value / unit->si, 1, -unit->places), unit->places);
}

void shown_put(enum shown_quantity quantity, bool inch_pound, double value, struct text *text)
{
	shown_number(quantity, inch_pound, value, text);
	text_put(text, " ");
	text_put(text, shown_unit(quantity, inch_pound)->text);
}
