/* SPDX-License-Identifier: MIT */
#include "../check.h"
#include "draw/axis.h"

static void check_label(const struct axis *axis, int64_t index, const char *expected)
{
	char label[AXIS_LABEL_SIZE];
	axis_label(axis, index, label);
	assert_string_equal(label, expected);
}

static void widens_to_whole_ticks(void **state)
{
	struct axis axis;
	(void)state;
	axis_fit(&axis, 0, 243.7, 6);
	check_near(axis.low, 0, 0);
	check_near(axis.high, 250, 0);
	assert_int_equal(axis.last - axis.first, 5);
	check_label(&axis, axis.first, "0");
	check_label(&axis, axis.last, "250");
}

static void labels_are_decimal(void **state)
{
	struct axis axis;
	(void)state;
	axis_fit(&axis, 0, 0.1 * 3, 4);
	/* 3 x 0.1 is 0.30000000000000004 in binary. */
	check_label(&axis, 3, "0.3");
	assert_int_equal(axis.last, 3);
	axis_fit(&axis, -0.02, 0.02, 5);
	check_label(&axis, axis.first, "-0.02");
	axis_fit(&axis, 0, 5e6, 6);
	check_label(&axis, axis.last, "5000000");
}

static void tight_range_stays(void **state)
{
	struct axis axis;
	(void)state;
	axis_fit_tight(&axis, 0.4, 42.7, 6);
	check_near(axis.low, 0.4, 0);
	check_near(axis.high, 42.7, 0);
	check_label(&axis, axis.first, "10");
	check_label(&axis, axis.last, "40");
	check_near(axis_fraction(&axis, 0.4), 0, 0);
	check_near(axis_fraction(&axis, 42.7), 1, 0);
}

static void never_more_ticks_than_allowed(void **state)
{
	(void)state;
	for (size_t ticks = 2; ticks < 12; ticks++) {
		for (double high = 1e-6; high < 1e9; high *= 1.37) {
			struct axis axis;
			axis_fit(&axis, 0, high, ticks);
			assert_true(axis.last - axis.first < (int64_t)ticks);
			assert_true(axis.last > axis.first);
			assert_true(axis.high >= high * (1 - 1e-9));
		}
	}
}

static void survives_no_extent(void **state)
{
	struct axis axis;
	(void)state;
	axis_fit(&axis, 5, 5, 4);
	assert_true(axis.low < axis.high);
	axis_fit(&axis, NAN, INFINITY, 4);
	check_near(axis.low, 0, 0);
	check_near(axis.high, 1, 0);
	axis_fit_tight(&axis, 7, 3, 4);
	check_near(axis.high, 8, 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(widens_to_whole_ticks),
		cmocka_unit_test(labels_are_decimal),
		cmocka_unit_test(tight_range_stays),
		cmocka_unit_test(never_more_ticks_than_allowed),
		cmocka_unit_test(survives_no_extent),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
