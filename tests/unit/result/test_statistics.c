/* SPDX-License-Identifier: MIT
 *
 * Mean and sample standard deviation: two published series of eight strengths, and values that
 * agree in most of their digits. NIST's certified sets are in tests/reference.
 */
#include "result/statistics.h"
#include "unit/check.h"

/* Two teaching series of eight cylinder strengths in kg/cm2, same mean and different spread,
 * printed with 216, s = 11.3 and 7.9 (read); dividing by n would give 10.5 and 7.4. */
static void series_of_eight(void **state)
{
	(void)state;
	const double wide[] = {228, 214, 200, 224, 230, 208, 204, 220};
	const double narrow[] = {221, 209, 214, 221, 220, 200, 220, 223};
	struct statistics statistics = statistics_of(wide, 8);
	check_near(statistics.mean, 216, 0);
	check_near(statistics.deviation, 11.263, 0.0005);
	statistics = statistics_of(narrow, 8);
	check_near(statistics.mean, 216, 0);
	check_near(statistics.deviation, 7.928, 0.0005);
}

/* No digit is lost where the values differ in their last ones only: in one pass over squares the
 * deviation of these would be 0 or not a number. */
static void close_values(void **state)
{
	(void)state;
	const double values[] = {1e15 + 1, 1e15 + 3, 1e15 + 2};
	struct statistics statistics = statistics_of(values, 3);
	check_near(statistics.mean, 1e15 + 2, 0);
	check_near(statistics.deviation, 1, 1e-15);
	/* Here the sum itself is rounded: 3e16 + 14 is no double. Of 2, 4, 8: 14 / 3, and the root
	 * of 28 / 3. */
	const double rounded[] = {1e16 + 2, 1e16 + 4, 1e16 + 8};
	statistics = statistics_of(rounded, 3);
	check_near(statistics.deviation, 3.05505046, 1e-8);
	/* and here: all but the first are lost in it */
	const double lost[] = {1e16, 1, 1, 1};
	assert_true(statistics_of(lost, 4).mean > 2.5e15);
}

static void two_values(void **state)
{
	(void)state;
	const double values[] = {30, 31};
	check_near(statistics_of(values, 2).deviation, 0.70710678, 1e-8);
}

static void one_value_has_no_deviation(void **state)
{
	(void)state;
	const double value = 31.7;
	struct statistics statistics = statistics_of(&value, 1);
	assert_int_equal(statistics.count, 1);
	check_near(statistics.mean, 31.7, 0);
	check_near(statistics.deviation, 0, 0);
	statistics = statistics_of(NULL, 0);
	assert_int_equal(statistics.count, 0);
	check_near(statistics.mean, 0, 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(series_of_eight),
		cmocka_unit_test(close_values),
		cmocka_unit_test(two_values),
		cmocka_unit_test(one_value_has_no_deviation),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
