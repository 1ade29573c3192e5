/* SPDX-License-Identifier: MIT
 *
 * The named curves: continuous where a press is, at the strength once, back at zero, and at the
 * rate that their names promise in the latter half.
 */
#include "curves.h"
#include "unit/check.h"

#include <stdbool.h>
#include <string.h>

static const struct curves_specimen specimen = {
	.area_m2 = 0.01,
	.strength_pa = 30e6,
	.rate_pa_per_s = 0.25e6,
};

enum { FULL_NEWTON = 300000 };

static double maximum_newton(const struct curves_entry *curve)
{
	double duration = curves_duration_s(curve, &specimen), maximum = 0;
	for (double t = 0; t < duration; t += 0.001)
		maximum = fmax(maximum, curves_load_newton(curve, &specimen, t));
	return maximum;
}

static void test_all_reach_the_strength_and_return_to_zero(void **state)
{
	(void)state;
	for (const struct curves_entry *curve = curves_table(); curve->name != NULL; curve++) {
		double duration = curves_duration_s(curve, &specimen);
		bool let_off = strcmp(curve->name, "let-off") == 0;
		double expected = let_off ? 0.6 * FULL_NEWTON : FULL_NEWTON;
		check_near(maximum_newton(curve), expected, 100);
		check_near(curves_load_newton(curve, &specimen, duration), 0, 1e-6);
		check_near(curves_load_newton(curve, &specimen, duration + 10), 0, 1e-9);
		check_near(curves_load_newton(curve, &specimen, 0), 0, 0);
		check_near(curves_load_newton(curve, &specimen, -1), 0, 0);
	}
}

/* Before the maximum no load jumps in a millisecond by more than the steepest stage, the shock of
 * 8 % in 50 ms and the let-go of 8 % in 80 ms. */
static void test_continuous_up_to_the_maximum(void **state)
{
	(void)state;
	for (const struct curves_entry *curve = curves_table(); curve->name != NULL; curve++) {
		double before = 0, after = 0;
		for (double t = 0; before < 0.999 * FULL_NEWTON; t += 0.001) {
			after = curves_load_newton(curve, &specimen, t);
			check_near(after, before, 0.002 * FULL_NEWTON);
			before = after;
			if (t > curves_duration_s(curve, &specimen))
				break;
		}
	}
}

/* Time at which the rising curve first reaches the fraction of the strength. */
static double time_at(const struct curves_entry *curve, double fraction)
{
	double t = 0;
	while (curves_load_newton(curve, &specimen, t) < fraction * FULL_NEWTON)
		t += 0.001;
	return t;
}

static void check_latter_half_rate(const char *name, double rate_pa_per_s)
{
	const struct curves_entry *curve = curves_find(name);
	assert_non_null(curve);
	double seconds = time_at(curve, 0.9) - time_at(curve, 0.5);
	check_near(0.4 * specimen.strength_pa / seconds, rate_pa_per_s, 100);
}

static void test_rates_are_those_promised(void **state)
{
	(void)state;
	check_latter_half_rate("good", 0.25e6);
	check_latter_half_rate("fast", 0.35e6);
	check_latter_half_rate("slow", 0.17e6);
	check_latter_half_rate("steady", 0.25e6);
}

static void test_unknown_name(void **state)
{
	(void)state;
	assert_null(curves_find("god"));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_all_reach_the_strength_and_return_to_zero),
		cmocka_unit_test(test_continuous_up_to_the_maximum),
		cmocka_unit_test(test_rates_are_those_promised),
		cmocka_unit_test(test_unknown_name),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
