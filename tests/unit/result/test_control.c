/* SPDX-License-Identifier: MIT
 *
 * The evaluation of many tests, against a published series and the tables of ACI 214R.
 */
#include "base/units.h"
#include "result/control.h"
#include "unit/check.h"

static const double psi = UNITS_PASCAL_PER_PSI;

/* ACI 214R, s1 = mean range / d2, on the six published pairs of test_outcome.c (loads read): mean
 * range 70.7355, s1 = 70.7355 / 1.128 = 62.709 psi, V1 1.508 % (own arithmetic). */
static void six_published_pairs(void **state)
{
	(void)state;
	static const double loads[][2] = {{122200, 124700}, {117300, 115600}, {112500, 114200},
		{102400, 104600}, {126700, 128900}, {121600, 119900}};
	struct control_test tests[6];
	for (size_t i = 0; i < 6; i++) {
		const double area_in2 = 3.14159265358979323846 * 9;
		double a = loads[i][0] / area_in2 * psi, b = loads[i][1] / area_in2 * psi;
		tests[i] = (struct control_test){(a + b) / 2, a < b ? b - a : a - b, 2};
	}
	struct control control = control_of(tests, 6, 4000 * psi, true);
	check_near(control.mean_range_pa / psi, 70.7355, 5e-5);
	check_near(control.within_pa / psi, 62.709, 5e-4);
	check_near(control.within_percent, 1.508, 5e-4);
	assert_int_equal(control.within_grade, CONTROL_EXCELLENT);
	assert_true(control.few);
	assert_int_equal(control.within_count, 6);
}

/* Sample deviation with n - 1: the two published series of test_statistics.c, printed with s = 11.3
 * and 7.9 (read). */
static void overall_deviation(void **state)
{
	(void)state;
	static const double rows[][8] = {
		{228, 214, 200, 224, 230, 208, 204, 220}, {221, 209, 214, 221, 220, 200, 220, 223}};
	static const double deviations[] = {11.263, 7.928};
	for (size_t row = 0; row < 2; row++) {
		struct control_test tests[8];
		for (size_t i = 0; i < 8; i++)
			tests[i] = (struct control_test){rows[row][i], 1, 2};
		struct control control = control_of(tests, 8, 200, true);
		check_near(control.overall.mean, 216, 1e-9);
		check_near(control.overall.deviation, deviations[row], 5e-4);
		check_near(control.overall_percent, 100 * deviations[row] / 216, 5e-4);
	}
}

/* ACI 214R, d2: 1.128, 1.693, 2.059 (read); the 0.886 of EN 206, where sigma is estimated from
 * ranges (read), is 1 / 1.128. */
static void factors_of_ranges(void **state)
{
	(void)state;
	check_near(control_d2(2), 1.128, 0);
	check_near(control_d2(3), 1.693, 0);
	check_near(control_d2(4), 2.059, 0);
	check_near(control_d2(5), 0, 0);
	check_near(1 / control_d2(2), 0.88652, 5e-6);
}

static enum control_grade overall(
	double deviation_pa, double mean_pa, double specified_pa, bool field)
{
	const struct control_test tests[] = {{mean_pa - deviation_pa / 1.4142135623730951, 1, 2},
		{mean_pa + deviation_pa / 1.4142135623730951, 1, 2}};
	return control_of(tests, 2, specified_pa, field).overall_grade;
}

/* ACI 214R, tables from memory. */
static void grades(void **state)
{
	(void)state;
	assert_int_equal(overall(2.7e6, 35e6, 30e6, true), CONTROL_EXCELLENT);
	assert_int_equal(overall(3.0e6, 35e6, 30e6, true), CONTROL_VERY_GOOD);
	assert_int_equal(overall(3.5e6, 35e6, 30e6, true), CONTROL_GOOD);
	assert_int_equal(overall(4.5e6, 35e6, 30e6, true), CONTROL_FAIR);
	assert_int_equal(overall(4.9e6, 35e6, 30e6, true), CONTROL_POOR);
	assert_int_equal(overall(1.5e6, 35e6, 30e6, false), CONTROL_VERY_GOOD);
	/* above 34.5 MPa by the coefficient of variation: 4.9 of 60 is 8.2 % */
	assert_int_equal(overall(4.9e6, 60e6, 50e6, true), CONTROL_VERY_GOOD);
	assert_int_equal(overall(4.1e6, 60e6, 50e6, true), CONTROL_EXCELLENT);
	assert_int_equal(overall(6.0e6, 60e6, 50e6, true), CONTROL_GOOD);
	assert_int_equal(overall(7.8e6, 60e6, 50e6, true), CONTROL_FAIR);
	assert_int_equal(overall(8.7e6, 60e6, 50e6, true), CONTROL_POOR);
	assert_string_equal(control_grade_text(CONTROL_VERY_GOOD), "very good");
}

/* The same table: field below 3, 4, 5, 6 %, laboratory below 2, 3, 4, 5 %. */
static void grades_within(void **state)
{
	(void)state;
	static const struct {
		double percent;
		enum control_grade field, laboratory;
	} rows[] = {{1.9, CONTROL_EXCELLENT, CONTROL_EXCELLENT},
		{2.5, CONTROL_EXCELLENT, CONTROL_VERY_GOOD}, {3.5, CONTROL_VERY_GOOD, CONTROL_GOOD},
		{4.5, CONTROL_GOOD, CONTROL_FAIR}, {5.5, CONTROL_FAIR, CONTROL_POOR},
		{6.5, CONTROL_POOR, CONTROL_POOR}};
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		double range_pa = rows[i].percent / 100 * 1.128 * 30e6;
		const struct control_test tests[] = {{30e6, range_pa, 2}, {30e6, range_pa, 2}};
		struct control control = control_of(tests, 2, 25e6, true);
		check_near(control.within_percent, rows[i].percent, 1e-9);
		assert_int_equal(control.within_grade, rows[i].field);
		assert_int_equal(
			control_of(tests, 2, 25e6, false).within_grade, rows[i].laboratory);
	}
}

static void a_mix_of_sizes_is_not_mixed(void **state)
{
	(void)state;
	const struct control_test tests[] = {
		{30e6, 1e6, 3}, {31e6, 9e6, 2}, {32e6, 2e6, 3}, {33e6, 0, 1}};
	struct control control = control_of(tests, 4, 30e6, true);
	assert_int_equal(control.within_size, 3);
	assert_int_equal(control.within_count, 2);
	check_near(control.within_pa, 1.5e6 / 1.693, 1e-6);
}

static void a_control_chart(void **state)
{
	(void)state;
	struct control_test tests[12];
	struct control_point points[12];
	for (size_t i = 0; i < 12; i++)
		tests[i] = (struct control_test){30e6 + 1e6 * (double)i, 1e6, 2};
	tests[11].range_pa = 2e6;
	control_chart(tests, 12, 31e6, points);
	assert_false(points[1].has_three);
	assert_true(points[2].has_three);
	check_near(points[2].three_pa, 31e6, 1e-6);
	check_near(points[2].departure_pa, 0, 1e-6);
	check_near(points[3].departure_pa, 2e6, 1e-6);
	assert_false(points[8].has_ten);
	assert_true(points[9].has_ten);
	check_near(points[11].range_pa, 1.1e6, 1e-6);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(six_published_pairs),
		cmocka_unit_test(overall_deviation),
		cmocka_unit_test(factors_of_ranges),
		cmocka_unit_test(grades),
		cmocka_unit_test(grades_within),
		cmocka_unit_test(a_mix_of_sizes_is_not_mixed),
		cmocka_unit_test(a_control_chart),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
