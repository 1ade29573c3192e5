/* SPDX-License-Identifier: MIT
 *
 * The slope against certified values: NIST Statistical Reference Datasets, linear regression
 * (Norris: certified slope, standard errors, residual standard deviation). NoInt1 and NoInt2 are
 * certified without an intercept; their points with an intercept are checked by hand calculation.
 */
#include "judge/slope.h"
#include "unit/check.h"
#include "unit/random.h"

#include <string.h>

/* NIST StRD Norris, x and y times ten, so that they are whole numbers. */
static const int norris[][2] = {{2, 1}, {3374, 3388}, {1182, 1181}, {8846, 8880}, {101, 92},
	{2265, 2281}, {6663, 6685}, {9963, 9985}, {4486, 4491}, {7770, 7789}, {5582, 5592}, {4, 3},
	{6, 1}, {7755, 7781}, {6669, 6688}, {3380, 3393}, {4475, 4489}, {116, 108}, {5560, 5577},
	{2281, 2283}, {9958, 9980}, {8876, 8888}, {1202, 1196}, {3, 3}, {3, 6}, {5568, 5576},
	{3391, 3393}, {8872, 8880}, {9990, 9985}, {7790, 7789}, {111, 102}, {1183, 1176},
	{2292, 2289}, {6691, 6684}, {4489, 4492}, {5, 2}};
enum { NORRIS_COUNT = sizeof norris / sizeof norris[0] };

/* x in seconds after the shift, y in newtons. */
static void add_norris(struct slope *slope, int64_t shift_ns)
{
	for (size_t i = 0; i < NORRIS_COUNT; i++)
		slope_add(slope, (struct slope_point){shift_ns + norris[i][0] * INT64_C(100000000),
					 norris[i][1] * INT64_C(100000)});
}

static void check_norris(int64_t shift_ns)
{
	struct slope slope;
	struct slope_fit fit;
	slope_init(&slope);
	add_norris(&slope, shift_ns);
	assert_true(slope_fit(&slope, &fit));
	/* NIST StRD, Norris: B1, its standard deviation, residual standard deviation */
	check_near(fit.rate_n_s, 1.00211681802045, 1e-14);
	check_near(fit.error_n_s, 0.429796848199937e-03, 1e-14);
	check_near(fit.residual_n, 0.884796396144373, 2e-11);
}

static void norris_certified(void **state)
{
	(void)state;
	check_norris(0);
}

/* The same points a million seconds later, and at the seconds of a wall clock: raw sums of doubles
 * lose four and all of their digits there; integers lose none. */
static void norris_shifted(void **state)
{
	(void)state;
	check_norris(INT64_C(1000000) * 1000000000);
	check_norris(INT64_C(1700000000) * 1000000000);
}

static void fit_points(const int64_t (*points)[2], size_t count, struct slope_fit *fit)
{
	struct slope slope;
	slope_init(&slope);
	for (size_t i = 0; i < count; i++)
		slope_add(&slope,
			(struct slope_point){points[i][0] * 1000000000, points[i][1] * 1000000});
	assert_true(slope_fit(&slope, fit));
}

/* Points of NIST StRD NoInt1 and NoInt2, with an intercept (own calculation: the first lie on a
 * line of slope 1; the second have slope 1/2 and residual sum of squares 1/6). */
static void no_intercept_points(void **state)
{
	(void)state;
	const int64_t first[11][2] = {{60, 130}, {61, 131}, {62, 132}, {63, 133}, {64, 134},
		{65, 135}, {66, 136}, {67, 137}, {68, 138}, {69, 139}, {70, 140}};
	const int64_t second[3][2] = {{4, 3}, {5, 4}, {6, 4}};
	struct slope_fit fit;
	fit_points(first, 11, &fit);
	check_near(fit.rate_n_s, 1, 0);
	check_near(fit.error_n_s, 0, 0);
	fit_points(second, 3, &fit);
	check_near(fit.rate_n_s, 0.5, 1e-16);
	check_near(fit.residual_n, sqrt(1.0 / 6), 1e-15);
	check_near(fit.error_n_s, sqrt(1.0 / 12), 1e-15);
}

/* The area of a cylinder of 100 mm, on which 0.25 MPa/s (ASTM C39, 8.5: read) are 1963.5 N/s. */
static const double area_m2 = 3.14159265358979323846 / 4 * 0.1 * 0.1;

/* load = area x 0.25 MPa/s x time has that slope, but for the rounding of the loads to micronewtons
 * (own arithmetic). */
static void a_ramp_has_its_stress_rate(void **state)
{
	(void)state;
	const int64_t begins_ns[] = {0, INT64_C(1700000000) * 1000000000};
	for (size_t k = 0; k < 2; k++) {
		struct slope slope;
		struct slope_fit fit;
		slope_init(&slope);
		for (int64_t i = 0; i <= 1200; i++) /* two minutes at 10 Hz */
			slope_add(
				&slope, (struct slope_point){begins_ns[k] + i * 100000000,
						llround(area_m2 * 0.25e6 * (double)i / 10 * 1e6)});
		assert_true(slope_fit(&slope, &fit));
		check_near(fit.rate_n_s / area_m2, 0.25e6, 1e-6);
		assert_true(fit.residual_n < 1e-6);
	}
	/* 51 samples from a clock's seconds, 1963.5 N/s: sums of doubles gave 5.3 (own arithmetic)
	 */
	struct slope slope;
	struct slope_fit fit;
	slope_init(&slope);
	for (int64_t i = 0; i < 51; i++)
		slope_add(
			&slope, (struct slope_point){begins_ns[1] + i * 100000000, i * 196350000});
	assert_true(slope_fit(&slope, &fit));
	check_near(fit.rate_n_s, 1963.5, 5e-13);
}

/* Slopes of many stairs under the ramp above, each begun at another place within a step: root mean
 * squares of what they are off by and of the error that the fit gives for itself. The clock wanders
 * by a millisecond. */
static void fit_stairs(int count, double step_n, double *off_n_s, double *said_n_s)
{
	enum { STAIRS = 4000 };
	struct random random = {14};
	*off_n_s = *said_n_s = 0;
	for (int stair = 0; stair < STAIRS; stair++) {
		double begin_n = random_between(&random, 0, step_n);
		struct slope slope;
		struct slope_fit fit;
		slope_init(&slope);
		for (int64_t i = 0; i < count; i++) {
			int64_t time_ns = i * 100000000 + random_pick(&random, 1000000);
			double load_n = begin_n + area_m2 * 0.25e6 * (double)time_ns * 1e-9;
			slope_add(
				&slope, (struct slope_point){time_ns,
						llround(load_n / step_n) * llround(step_n * 1e6)});
		}
		assert_true(slope_fit(&slope, &fit));
		*off_n_s += pow(fit.rate_n_s - area_m2 * 0.25e6, 2) / STAIRS;
		*said_n_s += fit.error_n_s * fit.error_n_s / STAIRS;
	}
	*off_n_s = sqrt(*off_n_s);
	*said_n_s = sqrt(*said_n_s);
}

/* Loads read in steps of r scatter by r / sqrt(12), and over n samples dt apart the slope is off by
 * (r / sqrt(12)) sqrt(12 / (dt^2 n (n^2 - 1))): the variance of a rectangle, and that of a slope
 * (own arithmetic). At 10 Hz and steps of 1 kN 275 N/s over 1 s, 14 % of 1963.5, and 27.5 N/s over
 * 5 s. Steps much smaller than what the clock wanders by scatter so; for coarse ones, whose places
 * on the ramp are not drawn at random, it is the order of size. */
static void a_stair_has_the_error_of_its_steps(void **state)
{
	(void)state;
	static const struct {
		int count;
		double step_n, error_n_s, factor;
	} rows[] = {{11, 1000, 275, 2}, {51, 1000, 27.5, 2}, {11, 100, 27.5, 2},
		{11, 0.1, 0.0275, 1.03}, {51, 0.1, 0.00275, 1.03}};
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		const double n = rows[i].count, factor = rows[i].factor;
		double expected = rows[i].step_n / sqrt(12) * sqrt(12 / (0.01 * n * (n * n - 1)));
		check_near(expected, rows[i].error_n_s, rows[i].error_n_s * 2e-3);
		double off, said;
		fit_stairs(rows[i].count, rows[i].step_n, &off, &said);
		assert_true(off > expected / factor && off < expected * factor);
		assert_true(said > expected / factor && said < expected * factor);
	}
}

static void too_little_is_no_rate(void **state)
{
	(void)state;
	struct slope slope;
	struct slope_fit fit;
	slope_init(&slope);
	assert_false(slope_fit(&slope, &fit));
	for (int i = 0; i < 5; i++) /* five points at one time have no slope */
		slope_add(&slope, (struct slope_point){1000, i});
	assert_false(slope_fit(&slope, &fit));
}

/* A window slid over a long record equals, bit for bit, the same window filled afresh. */
static void history_leaves_no_trace(void **state)
{
	(void)state;
	enum { COUNT = 20000, WIDTH = 300 };
	static struct slope_point points[COUNT];
	uint64_t random = 7;
	for (int64_t i = 0; i < COUNT; i++) {
		random = random * UINT64_C(6364136223846793005) + 1442695040888963407;
		int64_t jitter = (int64_t)(random >> 40);
		/* an hour between two points now and then moves the origin */
		points[i] = (struct slope_point){
			i * 1000000 + jitter % 900000 + i / 5000 * INT64_C(3600000000000),
			i * 4418000 + jitter * 1000};
	}
	struct slope slid, fresh;
	struct slope_fit a, b;
	slope_init(&slid);
	for (size_t i = 0; i < COUNT; i++) {
		slope_add(&slid, points[i]);
		if (i >= WIDTH)
			slope_remove(&slid, points[i - WIDTH]);
		if (i % 997 != 0 || i < WIDTH)
			continue;
		slope_init(&fresh);
		for (size_t k = i + 1 - WIDTH; k <= i; k++)
			slope_add(&fresh, points[k]);
		assert_true(slope_fit(&slid, &a) && slope_fit(&fresh, &b));
		assert_memory_equal(&a, &b, sizeof a);
	}
}

/* A million random points of every size: the sums that are kept, and so the fit, are those that a
 * plain summing up of the window's integers gives, with the compiler's own conversion. */
static void equals_the_plain_sums(void **state)
{
	(void)state;
	enum { COUNT = 1000000, WIDTH = 12 };
	static struct slope_point points[COUNT];
	uint64_t random = 11;
	int64_t time_ns = 0;
	for (size_t i = 0; i < COUNT; i++) {
		random = random * UINT64_C(6364136223846793005) + 1442695040888963407;
		time_ns += 1 + (int64_t)(random >> 33) % (INT64_C(1) << (i / 1000 % 31));
		int64_t load_un = (int64_t)(random >> 3) % (UNITS_LOAD_UN_MAX >> (i / 777 % 40));
		points[i] = (struct slope_point){time_ns, random & 1 ? load_un : -load_un};
	}
	struct slope slope;
	struct slope_fit fit;
	slope_init(&slope);
	for (size_t i = 0; i < COUNT; i++) {
		slope_add(&slope, points[i]);
		if (i < WIDTH)
			continue;
		slope_remove(&slope, points[i - WIDTH]);
		wide t = 0, y = 0, tt = 0, ty = 0, yy = 0;
		for (size_t k = i + 1 - WIDTH; k <= i; k++) {
			wide at = points[k].time_ns - points[i].time_ns, load = points[k].load_un;
			t += at, y += load, tt += at * at, ty += at * load, yy += load * load;
		}
		double xx = (double)(WIDTH * tt - t * t), xy = (double)(WIDTH * ty - t * y);
		double squares = (double)(WIDTH * yy - y * y) - xy * (xy / xx);
		assert_true(slope_fit(&slope, &fit));
		double rate = xy / xx * 1e3;
		double residual = sqrt(squares > 0 ? squares / WIDTH / (WIDTH - 2) : 0) * 1e-6;
		assert_memory_equal(&fit.rate_n_s, &rate, sizeof rate);
		assert_memory_equal(&fit.residual_n, &residual, sizeof residual);
	}
}

/* The quick conversion is the cast, at every size and sign, and next to where it rounds. */
static void converted_as_by_the_cast(void **state)
{
	(void)state;
	uint64_t random = 13;
	for (int i = 0; i < 2000000; i++) {
		random = random * UINT64_C(6364136223846793005) + 1442695040888963407;
		uint64_t high = random;
		random = random * UINT64_C(6364136223846793005) + 1442695040888963407;
		wide value = (wide)(int64_t)high * ((wide)1 << 64) + (wide)random;
		value >>= i % 128;
		if (i % 3 == 0) /* near the middle between two neighbours */
			value = value / ((wide)1 << (i % 80)) * ((wide)1 << (i % 80)) + i % 5 - 2;
		double quick = wide_to_double(value), cast = (double)value;
		assert_memory_equal(&quick, &cast, sizeof cast);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(norris_certified),
		cmocka_unit_test(norris_shifted),
		cmocka_unit_test(no_intercept_points),
		cmocka_unit_test(a_ramp_has_its_stress_rate),
		cmocka_unit_test(a_stair_has_the_error_of_its_steps),
		cmocka_unit_test(too_little_is_no_rate),
		cmocka_unit_test(history_leaves_no_trace),
		cmocka_unit_test(equals_the_plain_sums),
		cmocka_unit_test(converted_as_by_the_cast),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
