/* SPDX-License-Identifier: MIT
 *
 * The slope beside an independent one: GSL's straight-line fit (gsl_fit_linear, centred doubles) on
 * windows drawn at random: 3 to 3000 points, 10 to 5000 samples per second with jitter, ramps,
 * noise and resolution as presses have them, at times of the wall clock, and slid to their place
 * over a record that stands before them.
 *
 * GSL gets times and loads counted from the window's first point, which a slope does not depend on
 * and without which its doubles would be the worse of the two.
 *
 * Random, from a seed: RAMPLOG_SEED, else 1.
 */
#include "judge/slope.h"
#include "unit/check.h"
#include "unit/random.h"

#include <gsl/gsl_fit.h>
#include <stdlib.h>

enum { WINDOWS = 400, POINTS_MAX = 3000, BEFORE = 200 };

static uint64_t seed(void)
{
	const char *text = getenv("RAMPLOG_SEED");
	return text != NULL ? strtoull(text, NULL, 10) : 1;
}

static void draw(struct random *random, struct slope_point *points, size_t count)
{
	double interval_ns = 1e9 / random_scale(random, 10, 5000);
	double rate_n_s = random_between(random, -20000, 20000);
	double noise_n = random_scale(random, 1, 1000);
	double step_n = random_scale(random, 1, 1000);
	double start_n = random_between(random, 0, 2e6);
	double start_ns = random_between(random, 0, 1e9);
	for (size_t i = 0; i < count; i++) {
		double jitter = random_between(random, 0, 0.9);
		double t_ns = start_ns + ((double)i + jitter) * interval_ns;
		double load = start_n + rate_n_s * t_ns * 1e-9 + noise_n * random_normal(random);
		points[i] = (struct slope_point){
			INT64_C(1700000000000000000) + (int64_t)t_ns,
			llround(round(load / step_n) * step_n * 1e6),
		};
	}
}

/* Largest relative differences seen, to be printed. */
struct worst {
	double rate, error;
};

static void compare(const struct slope_point *points, size_t count, const struct slope_fit *fit,
	struct worst *worst)
{
	static double x[POINTS_MAX], y[POINTS_MAX];
	double rate, intercept, c00, c01, c11, squares;
	for (size_t i = 0; i < count; i++) {
		x[i] = (double)(points[i].time_ns - points[0].time_ns) * 1e-9;
		y[i] = (double)(points[i].load_un - points[0].load_un) * 1e-6;
	}
	gsl_fit_linear(x, 1, y, 1, count, &intercept, &rate, &c00, &c01, &c11, &squares);
	double error = sqrt(c11);
	/* A slope near zero is a difference: what it can be compared to is its standard error. */
	double size = fmax(fabs(rate), error);
	check_near(fit->rate_n_s, rate, 1e-12 * size);
	/* The residual sum of squares is what is left of the loads' own sum of squares: where the
	 * points lie on the line to k digits, 2 k digits of it are gone. */
	double spread_n = fabs(rate) * fit->time_spread_s;
	double lost = squares > 0 ? spread_n * spread_n / squares : 0;
	double error_tolerance = error * fmax(1e-9, 1e-15 * lost);
	check_near(fit->error_n_s, error, error_tolerance);
	worst->rate = fmax(worst->rate, fabs(fit->rate_n_s - rate) / size);
	if (lost < 1e6 && error > 0)
		worst->error = fmax(worst->error, fabs(fit->error_n_s - error) / error);
}

static void random_windows(void **state)
{
	(void)state;
	static struct slope_point points[POINTS_MAX + BEFORE];
	struct random random = {seed()};
	struct worst worst = {0, 0};
	print_message("seed %llu\n", (unsigned long long)seed());
	for (size_t w = 0; w < WINDOWS; w++) {
		size_t count = (size_t)random_scale(&random, 3, POINTS_MAX);
		struct slope slope;
		struct slope_fit fit;
		draw(&random, points, count + BEFORE);
		slope_init(&slope);
		for (size_t i = 0; i < count + BEFORE; i++) {
			slope_add(&slope, points[i]);
			if (slope.count > (int64_t)count)
				slope_remove(&slope, points[i - count]);
		}
		assert_true(slope_fit(&slope, &fit));
		compare(points + BEFORE, count, &fit, &worst);
	}
	print_message("largest relative difference: slope %.1e, standard error %.1e\n", worst.rate,
		worst.error);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(random_windows),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
