/* SPDX-License-Identifier: MIT */
#include "../check.h"
#include "draw/plot.h"

enum { COUNT = 4 };

static void no_peak_is_lost(void **state)
{
	/* One sample of 9 among many: it lies between the middles of two columns. */
	struct plot_point points[401];
	double low[COUNT], high[COUNT];
	(void)state;
	for (size_t i = 0; i < 401; i++)
		points[i] = (struct plot_point){(double)i / 100, i == 137 ? 9 : 1};
	struct plot plot = {.points = points, .count = 401};
	plot_fit(&plot, 5, 5);
	plot_columns(&plot, COUNT, low, high);
	check_near(high[1], 9, 0);
	check_near(low[1], 1, 0);
	check_near(high[0], 1, 0);
	check_near(high[2], 1, 0);
}

static void line_crosses_empty_columns(void **state)
{
	const struct plot_point points[] = {{0, 0}, {4, 4}};
	double low[COUNT], high[COUNT];
	struct plot plot = {.points = points, .count = 2};
	(void)state;
	plot_fit(&plot, 5, 5);
	plot_columns(&plot, COUNT, low, high);
	for (size_t i = 0; i < COUNT; i++) {
		check_near(low[i], (double)i, 1e-12);
		check_near(high[i], (double)i + 1, 1e-12);
	}
}

static void unknown_values_break_the_line(void **state)
{
	const struct plot_point points[] = {{0, 1}, {1.5, NAN}, {4, 1}};
	double low[COUNT], high[COUNT];
	struct plot plot = {.points = points, .count = 3};
	(void)state;
	plot_fit(&plot, 5, 5);
	plot_columns(&plot, COUNT, low, high);
	check_near(high[0], 1, 0);
	check_near(high[3], 1, 0);
	assert_true(low[1] > high[1]);
	assert_true(low[2] > high[2]);
}

static void noise_below_zero_gets_no_tick(void **state)
{
	struct plot_point points[] = {{0, 0}, {1, -1}, {2, 100}};
	struct plot plot = {.points = points, .count = 3};
	(void)state;
	plot_fit(&plot, 5, 6);
	check_near(plot.y.low, 0, 0);
	points[1].y = -10;
	plot_fit(&plot, 5, 6);
	assert_true(plot.y.low <= -10);
}

static void nothing_to_draw(void **state)
{
	double low[COUNT], high[COUNT];
	struct plot plot = {.count = 0};
	(void)state;
	plot_fit(&plot, 5, 5);
	plot_columns(&plot, COUNT, low, high);
	for (size_t i = 0; i < COUNT; i++)
		assert_true(low[i] > high[i]);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(no_peak_is_lost),
		cmocka_unit_test(line_crosses_empty_columns),
		cmocka_unit_test(unknown_values_break_the_line),
		cmocka_unit_test(noise_below_zero_gets_no_tick),
		cmocka_unit_test(nothing_to_draw),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
