/* SPDX-License-Identifier: MIT
 *
 * From a judgement to a strength: maximum load / area x factor, rounded once, for the report only.
 */
#include "result/outcome.h"

#include "base/decimal.h"
#include "base/text.h"
#include "base/units.h"

bool outcome_factor(const struct method *method, double ratio, double *factor)
{
	*factor = 1;
	if (ratio == 0 || ratio > method->factor_ratio_max)
		return true;
	if (ratio < method->ratio_min)
		return false;
	const struct method_factor *upper = method->factors;
	while (upper[1].factor != 0 && ratio < upper[1].ratio)
		upper++;
	/* At a table value, and at the last one, there is nothing to interpolate. */
	if (ratio >= upper->ratio || upper[1].factor == 0) {
		*factor = upper->factor;
		return true;
	}
	const struct method_factor *lower = upper + 1;
	double part = (ratio - lower->ratio) / (upper->ratio - lower->ratio);
	*factor = lower->factor + part * (upper->factor - lower->factor);
	return true;
}

void outcome_strength_text(const struct method *method, double strength_pa, char *text)
{
	int64_t value =
		method->report_step * decimal_round_even(strength_pa / method->report_unit_pa,
					      method->report_step, method->report_exponent);
	int places = 0;
	if (method->report_exponent < 0)
		places = -method->report_exponent;
	for (int i = 0; i < method->report_exponent; i++)
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
	outcome->area_m2 = specimen ? specimen_area_m2(specimen) : 0;
	outcome->correction = 1;
	outcome->strength_pa = 0;
	outcome->strength_reported[0] = '\0';
	outcome->thrust = (struct outcome_thrust){.known = false};
	/* The area of a real specimen is positive; that of a row in a damaged database need not be.
	 */
	if (!specimen || !(outcome->area_m2 > 0) || outcome->judgement.maximum_un <= 0)
		return;
	/* The factors are for cylinders and cores; a cube has a strength of its own. */
	if (specimen->shape == SHAPE_CYLINDER &&
		!outcome_factor(method, specimen_ratio(specimen), &outcome->correction))
		return;
	double maximum_n = (double)outcome->judgement.maximum_un / (double)UNITS_UN_PER_N;
	outcome->strength_pa = maximum_n / outcome->area_m2 * outcome->correction;
	outcome_strength_text(method, outcome->strength_pa, outcome->strength_reported);
}
