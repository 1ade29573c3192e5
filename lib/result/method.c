/* SPDX-License-Identifier: MIT
 *
 * The table of test methods, and the one way from an entry to a plan. Nothing here asks which
 * method it is; docs/adding-a-method.md walks through an entry.
 *
 * The two entries for ASTM C39 are two standards in one text: the bands are not equal, and a limit
 * given in psi/s is judged in psi/s.
 */
#include "result/method.h"

#include "base/decimal.h"
#include "base/units.h"

#include <math.h>
#include <string.h>

#define METHOD_NS(seconds) ((seconds)*CLOCKS_NS_PER_S)

/* ASTM C39, section 9: factors for short specimens, with straight lines between them. */
static const struct method_factor c39_factors[] = {
	{1.75, 0.98}, {1.50, 0.96}, {1.25, 0.93}, {1.00, 0.87}, {0, 0}};

#define METHOD_C39 \
	.cylinders_only = true, .basis_anticipated = true, .span_from = 0.5, .span_to = 0.9, \
	.window_ns = METHOD_NS(5), .factor_ratio_max = 1.75, .ratio_min = 1.00, \
	.factors = c39_factors

static const struct method table[] = {
	{
		METHOD_C39,
		.name = "astm-c39",
		.standard = "ASTM C39/C39M (SI)",
		.rate_unit_pa = UNITS_PASCAL_PER_MPA,
		.band_low = 0.20,
		.band_high = 0.30,
		.report_step = 1,
		.report_exponent = -1,
		.report_unit = "MPa",
		.report_unit_pa = UNITS_PASCAL_PER_MPA,
	},
	{
		METHOD_C39,
		.name = "astm-c39-inch-pound",
		.standard = "ASTM C39/C39M (inch-pound)",
		.inch_pound = true,
		.rate_unit_pa = UNITS_PASCAL_PER_PSI,
		.band_low = 28,
		.band_high = 42,
		.report_step = 10,
		.report_exponent = 0,
		.report_unit = "psi",
		.report_unit_pa = UNITS_PASCAL_PER_PSI,
	},
	{
		.name = "en-12390-3",
		.standard = "EN 12390-3",
		.rate_unit_pa = UNITS_PASCAL_PER_MPA,
		.chosen_low = 0.4,
		.chosen_high = 0.8,
		.chosen_default = 0.6,
		.chosen_tolerance = 0.10,
		.span_from = 0.3,
		.span_to = 0.9,
		.window_ns = METHOD_NS(10),
		.report_step = 1,
		.report_exponent = -1,
		.report_unit = "MPa",
		.report_unit_pa = UNITS_PASCAL_PER_MPA,
	},
	{.name = NULL},
};

const struct method *method_table(void)
{
	return table;
}

const struct method *method_find(const char *name)
{
	for (const struct method *method = table; method->name; method++) {
		if (strcmp(method->name, name) == 0)
			return method;
	}
	return NULL;
}

/* The double nearest to the value rounded to nine decimals, so that limits compare and print as
 * they are written: 0.45, whatever the noise of the product it came from. */
static double to_nine_decimals(double value)
{
	return (double)decimal_round_even(value, 1, -9) / 1e9;
}

/* The band around a chosen rate; chosen_pa_s 0: the method's default. */
static bool choose_band(
	const struct method *method, double chosen_pa_s, struct plan *plan, struct message *why)
{
	double chosen = method->chosen_default;
	if (chosen_pa_s != 0) {
		/* Refused before it is rounded: rounding expects a number of ordinary size. */
		if (!(chosen_pa_s > 0 && chosen_pa_s < 1e3 * UNITS_PASCAL_PER_MPA))
			return message_set(why, "chosen rate %g MPa/s is no loading rate",
				chosen_pa_s / UNITS_PASCAL_PER_MPA);
		chosen = to_nine_decimals(chosen_pa_s / method->rate_unit_pa);
	}
	if (chosen < method->chosen_low || chosen > method->chosen_high)
		return message_set(why,
			"chosen rate %g %s/s is outside the %g to %g %s/s that %s allows", chosen,
			method->report_unit, method->chosen_low, method->chosen_high,
			method->report_unit, method->standard);
	plan->band_low = to_nine_decimals(chosen * (1 - method->chosen_tolerance));
	plan->band_high = to_nine_decimals(chosen * (1 + method->chosen_tolerance));
	return true;
}

static bool plan_band(
	const struct method *method, double chosen_pa_s, struct plan *plan, struct message *why)
{
	plan->rate_unit_pa = method->rate_unit_pa;
	if (method->chosen_default != 0)
		return choose_band(method, chosen_pa_s, plan, why);
	if (chosen_pa_s != 0)
		return message_set(why,
			"%s fixes the rate at %g to %g %s/s: a rate cannot be chosen",
			method->standard, method->band_low, method->band_high, method->report_unit);
	plan->band_low = method->band_low;
	plan->band_high = method->band_high;
	return true;
}

static bool plan_specimen(const struct specimen *specimen, struct plan *plan, struct message *why)
{
	if (!specimen_check_numbers(specimen, why))
		return false;
	plan->area_m2 = specimen_area_m2(specimen);
	double load_un = specimen->anticipated_pa * plan->area_m2 * (double)UNITS_UN_PER_N;
	if (load_un > (double)UNITS_LOAD_UN_MAX)
		return message_set(why,
			"anticipated load %.1f MN is beyond the 100 MN that are represented",
			load_un / 1e12);
	plan->anticipated_load_un = llround(load_un);
	return true;
}

bool method_plan(const struct method *method, const struct specimen *specimen, struct plan *plan,
	struct message *why)
{
	*plan = (struct plan){0};
	if (specimen && !plan_specimen(specimen, plan, why))
		return false;
	if (!plan_band(method, specimen ? specimen->chosen_rate_pa_s : 0, plan, why))
		return false;
	plan->span_from = method->span_from;
	plan->span_to = method->span_to;
	plan->window_ns = method->window_ns;
	plan->basis_anticipated = method->basis_anticipated;
	policy_defaults(&plan->policy);
	return true;
}

bool method_specimen_check(
	const struct method *method, const struct specimen *specimen, struct message *why)
{
	if (method->cylinders_only && specimen->shape != SHAPE_CYLINDER)
		return message_set(why, "%s is written for cylinders and cores, not for a %s",
			method->standard, shape_text(specimen->shape));
	double ratio = specimen_ratio(specimen);
	if (ratio != 0 && ratio < method->ratio_min)
		return message_set(why,
			"length / diameter %.3f: %s has no factor below %.2f, so no strength "
			"would come of the test",
			ratio, method->standard, method->ratio_min);
	struct plan plan;
	return method_plan(method, specimen, &plan, why);
}
