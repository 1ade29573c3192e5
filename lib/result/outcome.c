/* SPDX-License-Identifier: MIT
 *
 * From a judgement to a strength: maximum load / area x factor, rounded once, for the report only.
 */
#include "result/outcome.h"

#include "base/decimal.h"
#include "base/text.h"
#include "base/units.h"

#include <math.h>

static bool has_factor(const struct method *method, double ratio)
{
	return method->factor_below ? ratio < method->factor_ratio_max
				    : ratio <= method->factor_ratio_max;
}

bool outcome_factor(const struct method *method, double ratio, double *factor)
{
	*factor = 1;
	if (ratio == 0)
		return true;
	if (ratio < method->ratio_min)
		return false;
	if (!has_factor(method, ratio))
		return true;
	const struct method_factor *upper = method->factors;
	const struct method_factor *last = upper + method->factor_count - 1;
	while (upper < last && ratio < upper[1].ratio)
		upper++;
	/* At a table value, and at the last one, there is nothing to interpolate. */
	if (ratio >= upper->ratio || upper == last) {
		*factor = upper->factor;
		return true;
	}
	const struct method_factor *lower = upper + 1;
	double part = (ratio - lower->ratio) / (upper->ratio - lower->ratio);
	*factor = lower->factor + part * (upper->factor - lower->factor);
	return true;
}

double outcome_size_factor(const struct method *method, const struct specimen *specimen)
{
	static const double same = 0.05; /* of a nominal size: sizes are farther apart */
	double width = ((double)specimen->width_um[0] + (double)specimen->width_um[1]) / 2;
	for (size_t i = 0; i < method->size_factor_count; i++) {
		const struct method_size_factor *size = &method->size_factors[i];
		if (fabs(width / (double)size->width_um - 1) <= same)
			return size->factor;
	}
	return 1;
}

/* So many steps of 10^*exponent as there are significant figures in the value. */
static int64_t round_figures(double value, int figures, int *exponent)
{
	int64_t most = 1;
	for (int i = 0; i < figures; i++)
		most *= 10;
	*exponent = value > 0 ? (int)floor(log10(value)) - figures + 1 : 0;
	int64_t steps = decimal_round_even(value, 1, *exponent);
	if (steps < most)
		return steps;
	++*exponent; /* 99.96 is 100 */
	return decimal_round_even(value, 1, *exponent);
}

void outcome_strength_text(const struct method *method, double strength_pa, char *text)
{
	double strength = strength_pa / method->report_unit_pa;
	int exponent = method->report_exponent;
	int64_t value = method->report_figures
				? round_figures(strength, method->report_figures, &exponent)
				: method->report_step * decimal_round_even(strength,
								method->report_step, exponent);
	int places = exponent < 0 ? -exponent : 0;
	for (int i = 0; i < exponent; i++)
		value *= 10;
	struct text writer;
	text_init(&writer, text, OUTCOME_REPORTED_SIZE);
	text_fixed(&writer, value, places);
	text_put(&writer, " ");
	text_put(&writer, method->report_unit);
}

void outcome_derive(
	struct outcome *outcome, const struct method *method, const struct specimen *specimen)
{
	outcome->method = method;
	outcome->area_m2 = specimen ? method_area_m2(method, specimen) : 0;
	outcome->correction = 1;
	outcome->strength_pa = 0;
	outcome->strength_reported[0] = '\0';
	outcome->thrust = (struct outcome_thrust){.known = false};
	/* The area of a real specimen is positive; that of a row in a damaged database need not be.
	 */
	if (!specimen || !(outcome->area_m2 > 0) || outcome->judgement.maximum_un <= 0)
		return;
	/* The factors are for what is slender; a cube has a strength of its own. */
	if (specimen->shape != SHAPE_CUBE &&
		!outcome_factor(method, specimen_ratio(specimen), &outcome->correction))
		return;
	outcome->correction *= outcome_size_factor(method, specimen);
	double maximum_n = (double)outcome->judgement.maximum_un / (double)UNITS_UN_PER_N;
	outcome->strength_pa = maximum_n / outcome->area_m2 * outcome->correction;
	outcome_strength_text(method, outcome->strength_pa, outcome->strength_reported);
}
