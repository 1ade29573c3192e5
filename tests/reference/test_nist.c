/* SPDX-License-Identifier: MIT
 *
 * NIST Statistical Reference Datasets (public domain), read from RAMPLOG_REFERENCE/nist: the
 * running slope against Norris' certified line, and mean and standard deviation against the
 * certified univariate sets. NoInt1 and NoInt2 are certified without an intercept, which a slope
 * over a window always has: their points are fitted with one, beside GSL.
 *
 * Tolerances. The sums of the slope are integers and only their ratio is rounded: 1e-14 relative,
 * as many digits as NIST prints. The residual sum of squares is a difference of doubles, smaller
 * than its terms by R2 = 1 - 6e-6 in Norris: 1e-10.
 */
#include "reference.h"

#include "judge/slope.h"
#include "result/statistics.h"
#include "unit/check.h"

#include <gsl/gsl_fit.h>

enum { NUMBERS_MAX = 8192, POINTS_MAX = 64 };

/* Points of a file whose columns are y and x. Their x become times in s, their y loads in N. */
struct points {
	size_t count;
	double x[POINTS_MAX], y[POINTS_MAX];
};

static void read_points(const char *name, struct points *points)
{
	double numbers[2 * POINTS_MAX];
	size_t count = reference_numbers(name, numbers, 2 * POINTS_MAX);
	assert_int_equal(count % 2, 0);
	points->count = count / 2;
	for (size_t i = 0; i < points->count; i++) {
		points->y[i] = numbers[2 * i];
		points->x[i] = numbers[2 * i + 1];
	}
}

static struct slope_fit fit_points(const struct points *points, int64_t shift_s)
{
	struct slope slope;
	struct slope_fit fit;
	slope_init(&slope);
	for (size_t i = 0; i < points->count; i++)
		slope_add(&slope, (struct slope_point){
					  shift_s * CLOCKS_NS_PER_S + llround(points->x[i] * 1e9),
					  llround(points->y[i] * 1e6)});
	assert_true(slope_fit(&slope, &fit));
	return fit;
}

static void norris(void **state)
{
	(void)state;
	const int64_t shifts_s[] = {0, 1000000, 1700000000};
	struct points points;
	read_points("nist/Norris.dat", &points);
	assert_int_equal(points.count, 36);
	for (size_t i = 0; i < 3; i++) {
		struct slope_fit fit = fit_points(&points, shifts_s[i]);
		/* B1, its standard deviation, residual standard deviation, as certified */
		check_near(fit.rate_n_s, 1.00211681802045, 1e-14);
		check_near(fit.error_n_s, 0.429796848199937e-03, 0.43e-03 * 1e-10);
		check_near(fit.residual_n, 0.884796396144373, 0.88 * 1e-10);
	}
}

/* Without an intercept through our own reading of the file, so that the certified value tests what
 * was read; with one, GSL beside the slope. */
static void check_no_intercept(const char *name, double certified, double certified_error)
{
	struct points points;
	double b, b0, error, c00, c01, c11, squares;
	read_points(name, &points);
	gsl_fit_mul(points.x, 1, points.y, 1, points.count, &b, &error, &squares);
	check_near(b, certified, 1e-14);
	check_near(sqrt(error), certified_error, 1e-14);
	gsl_fit_linear(points.x, 1, points.y, 1, points.count, &b0, &b, &c00, &c01, &c11, &squares);
	struct slope_fit fit = fit_points(&points, 1700000000);
	check_near(fit.rate_n_s, b, 1e-14);
	check_near(fit.error_n_s, sqrt(c11), 1e-14);
}

static void no_intercept(void **state)
{
	(void)state;
	check_no_intercept("nist/NoInt1.dat", 2.07438016528926, 0.165289256198347e-01);
	check_no_intercept("nist/NoInt2.dat", 0.727272727272727, 0.420827318078432e-01);
}

/* The larger the mean beside the deviation, the fewer digits the data themselves hold in binary:
 * NumAcc4's 10000000.1 is off by 1e-9, a hundred-millionth of its deviation. */
static void univariate(void **state)
{
	(void)state;
	static const struct {
		const char *name;
		size_t count;
		double mean, deviation, tolerance; /* the last relative, of the deviation */
	} sets[] = {
		{"nist/NumAcc1.dat", 3, 10000002, 1, 1e-15},
		{"nist/NumAcc2.dat", 1001, 1.2, 0.1, 1e-14},
		{"nist/NumAcc3.dat", 1001, 1000000.2, 0.1, 2e-9},
		{"nist/NumAcc4.dat", 1001, 10000000.2, 0.1, 2e-8},
		{"nist/Lew.dat", 200, -177.435, 277.332168044316, 1e-14},
		{"nist/Mavro.dat", 50, 2.001856, 0.000429123454003053, 1e-12},
		{"nist/Michelso.dat", 100, 299.8524, 0.0790105478190518, 1e-12},
	};
	static double numbers[NUMBERS_MAX];
	for (size_t i = 0; i < sizeof sets / sizeof sets[0]; i++) {
		size_t count = reference_numbers(sets[i].name, numbers, NUMBERS_MAX);
		assert_int_equal(count, sets[i].count);
		struct statistics statistics = statistics_of(numbers, count);
		check_near(statistics.mean, sets[i].mean, fabs(sets[i].mean) * 1e-15);
		check_near(statistics.deviation, sets[i].deviation,
			sets[i].deviation * sets[i].tolerance);
	}
}

int main(void)
{
	if (!reference_is_there())
		return REFERENCE_SKIPPED;
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(norris),
		cmocka_unit_test(no_intercept),
		cmocka_unit_test(univariate),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
