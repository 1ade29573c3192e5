/* SPDX-License-Identifier: MIT
 *
 * The one way from a method and a specimen to a plan. Nothing here asks which method it is.
 */
#include "result/method.h"

#include "base/decimal.h"
#include "base/text.h"
#include "base/units.h"

#include <math.h>
#include <string.h>

double method_area_m2(const struct method *method, const struct specimen *specimen)
{
	double width = ((double)specimen->width_um[0] + (double)specimen->width_um[1]) / 2e6;
	double depth = (double)specimen->width_um[1] / 1e6;
	double length = (double)specimen->length_um / 1e6;
	double area = specimen_area_m2(specimen);
	double nominal = (double)method->nominal_um * (double)method->nominal_um / 1e12;
	switch (method->formula) {
	case METHOD_SPLITTING:
		return M_PI * length * width / 2;
	case METHOD_FLEXURE:
		return length > 0 ? (double)specimen->width_um[0] / 1e6 * depth * depth / length
				  : 0;
	case METHOD_COMPRESSION:
		break;
	}
	if (nominal > 0 && fabs(area / nominal - 1) <= method->nominal_within)
		return nominal;
	return area;
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
		chosen = to_nine_decimals(chosen_pa_s / plan->rate_unit_pa);
	}
	const char *unit = rate_unit_text(method->rate_unit);
	if (chosen < method->chosen_low || chosen > method->chosen_high)
		return message_set(why,
			"chosen rate %g %s is outside the %g to %g %s that %s allows", chosen, unit,
			method->chosen_low, method->chosen_high, unit, method->standard);
	plan->band_low = to_nine_decimals(chosen * (1 - method->chosen_tolerance));
	plan->band_high = to_nine_decimals(chosen * (1 + method->chosen_tolerance));
	return true;
}

/* No band, but a time for the span: what band it makes, if the specimen carries what is expected,
 * for whoever watches; the verdict is on the time. */
static bool plan_time(const struct method *method, const struct specimen *specimen,
	struct plan *plan, struct message *why)
{
	double rest_pa =
		specimen ? (method->span_to - method->span_from) * specimen->anticipated_pa : 0;
	if (specimen && rest_pa <= 0)
		return message_set(why,
			"%s counts a time from a part of the load expected: state the anticipated "
			"strength",
			method->standard);
	plan->band_low = to_nine_decimals(rest_pa / plan->rate_unit_pa / method->time_high_s);
	plan->band_high = to_nine_decimals(rest_pa / plan->rate_unit_pa / method->time_low_s);
	return true;
}

static bool plan_rate(const struct method *method, const struct specimen *specimen,
	struct plan *plan, struct message *why)
{
	double chosen_pa_s = specimen ? specimen->chosen_rate_pa_s : 0;
	const char *unit = rate_unit_text(method->rate_unit);
	plan->rate_unit_pa = rate_unit_si(method->rate_unit);
	if (rate_unit_is_force(method->rate_unit) && plan->area_m2 > 0)
		plan->rate_unit_pa /= plan->area_m2;
	if (method->chosen_default != 0)
		return choose_band(method, chosen_pa_s, plan, why);
	if (chosen_pa_s != 0 && method->time_high_s > 0)
		return message_set(
			why, "%s gives a time: a rate cannot be chosen", method->standard);
	if (chosen_pa_s != 0)
		return message_set(why, "%s fixes the rate at %g to %g %s: a rate cannot be chosen",
			method->standard, method->band_low, method->band_high, unit);
	if (method->time_high_s > 0)
		return plan_time(method, specimen, plan, why);
	plan->band_low = method->band_low;
	plan->band_high = method->band_high;
	return true;
}

static bool plan_specimen(const struct method *method, const struct specimen *specimen,
	struct plan *plan, struct message *why)
{
	if (!specimen_check_numbers(specimen, why))
		return false;
	plan->area_m2 = method_area_m2(method, specimen);
	if (!(plan->area_m2 > 0))
		return message_set(why, "%s computes the strength with the %s: state it",
			method->standard, specimen->shape == SHAPE_BEAM ? "span" : "length");
	double load_un = specimen->anticipated_pa * plan->area_m2 * (double)UNITS_UN_PER_N;
	if (load_un > (double)UNITS_LOAD_UN_MAX)
		return message_set(why,
			"anticipated load %.1f MN is beyond the 100 MN that are represented",
			load_un / 1e12);
	plan->anticipated_load_un = llround(load_un);
	return true;
}

void method_plan_complete(const struct method *method, struct plan *plan)
{
	plan->unit = method->rate_unit;
	plan->time_low_s = method->time_low_s;
	plan->time_high_s = method->time_high_s;
}

bool method_plan(const struct method *method, const struct specimen *specimen, struct plan *plan,
	struct message *why)
{
	*plan = (struct plan){0};
	method_plan_complete(method, plan);
	if (specimen && !plan_specimen(method, specimen, plan, why))
		return false;
	if (!plan_rate(method, specimen, plan, why))
		return false;
	plan->span_from = method->span_from;
	plan->span_to = method->span_to;
	plan->window_ns = method->window_ns;
	plan->basis_anticipated = method->basis_anticipated;
	policy_defaults(&plan->policy);
	return true;
}

static void put_shapes(const struct method *method, struct text *text)
{
	for (int shape = 0; shape < SHAPE_COUNT; shape++) {
		if (method->shapes & 1U << shape)
			text_format(text, "%s%ss", text->length ? " and " : "",
				shape_text((enum shape)shape));
	}
}

bool method_specimen_check(
	const struct method *method, const struct specimen *specimen, struct message *why)
{
	char buffer[64];
	struct text shapes;
	text_init(&shapes, buffer, sizeof buffer);
	put_shapes(method, &shapes);
	if (!(method->shapes & 1U << specimen->shape))
		return message_set(why, "%s is written for %s, not for a %s", method->standard,
			buffer, shape_text(specimen->shape));
	double ratio = specimen->shape == SHAPE_CUBE ? 0 : specimen_ratio(specimen);
	if (ratio != 0 && ratio < method->ratio_min)
		return message_set(why,
			"length / diameter %.3f: %s has no factor below %.2f, so no strength "
			"would come of the test",
			ratio, method->standard, method->ratio_min);
	struct plan plan;
	return method_plan(method, specimen, &plan, why);
}

const struct method_fracture *method_fracture(const struct method *method, int type)
{
	for (size_t i = 0; i < method->fracture_count; i++) {
		if (method->fractures[i].type == type)
			return &method->fractures[i];
	}
	return NULL;
}

const char *method_clause(const struct method *method, const char *topic)
{
	for (size_t i = 0; i < method->clause_count && method->unsure_count == 0; i++) {
		if (strcmp(method->clauses[i].topic, topic) == 0)
			return method->clauses[i].number;
	}
	return "";
}
