/* SPDX-License-Identifier: MIT
 *
 * A side of an outline from running sums, against the loop over all points that they stand for.
 */
#include "judge/side.h"
#include "unit/check.h"
#include "unit/random.h"

#include <stdio.h>
#include <stdlib.h>

static struct random random_state;

/* Points at an even pace, jittered, in clusters or about a gap; any load. */
static void draw(struct side_points *points)
{
	struct random *random = &random_state;
	int kind = random_pick(random, 4);
	double pace_s = random_scale(random, 1e-3, 1), time_s = 0;
	points->count = 8 + (size_t)random_pick(random, SIDE_POINTS_MAX - 7);
	size_t gap = (size_t)random_pick(random, (int)points->count);
	for (size_t i = 0; i < points->count; i++) {
		time_s += pace_s;
		if (kind == 1)
			time_s += pace_s * random_between(random, -0.9, 0.9);
		if (kind == 2)
			time_s += i % 8 == 0 ? 8 * pace_s : -0.99 * pace_s;
		if (kind == 3 && i == gap)
			time_s += 20 * pace_s * (double)points->count;
		points->time_s[i] = time_s;
		points->mean[i] = random_normal(random) - time_s / pace_s;
	}
	double top_s = random_between(random, points->time_s[0], time_s);
	for (size_t i = 0; i < points->count; i++)
		points->time_s[i] -= top_s;
	double lasted_s = time_s - top_s - points->time_s[0];
	double hz = random_pick(random, 2) ? random_between(random, 1, 30) / lasted_s : 0;
	double kink_s = points->time_s[0] * random_between(random, 0.1, 1);
	side_fix(points, hz, random_pick(random, 2) ? kink_s : points->time_s[0]);
}

/* In parts of what the side would be worth without the fixed parts. */
static double error_of(const struct side *side, const struct side *plain, double loads)
{
	double whole = plain->square + side_dot(plain->fixed, plain->fixed, SIDE_FIXED);
	double worst = fabs(side->square - plain->square) / whole;
	worst = fmax(worst, fabs(side->load - plain->load) / sqrt(whole * loads));
	for (size_t k = 0; k < SIDE_FIXED; k++)
		worst = fmax(worst, fabs(side->fixed[k] - plain->fixed[k]) / sqrt(whole));
	return worst;
}

/* Bends as the search takes them: of any width, and none. */
static double worst_of(const struct side_points *points)
{
	double from_s = points->time_s[0], to_s = points->time_s[points->count - 1], worst = 0;
	for (int turn = 0; turn < 40; turn++) {
		double width_s = (to_s - from_s) * random_scale(&random_state, 5e-4, 1);
		width_s = turn % 4 == 0 ? 0 : width_s;
		double at_s = random_between(&random_state, from_s, to_s - width_s);
		for (int fall = 0; fall < 2; fall++) {
			struct side side = side_at(points, at_s, at_s + width_s, fall);
			struct side plain = side_plain(points, at_s, at_s + width_s, fall);
			assert_true(side.from_s == plain.from_s && side.to_s == plain.to_s);
			worst = fmax(worst, error_of(&side, &plain, points->squares));
		}
	}
	return worst;
}

static void sums_are_the_loop(void **state)
{
	(void)state;
	static struct side_points points;
	double worst = 0;
	for (int turn = 0; turn < 2000; turn++) {
		draw(&points);
		worst = fmax(worst, worst_of(&points));
	}
	printf("worst error: %.2g\n", worst);
	check_near(worst, 0, 1e-9);
}

/* A bend at a point, between two, before the first and after the last. */
static void at_the_edges(void **state)
{
	(void)state;
	static struct side_points points = {.count = 16};
	for (size_t i = 0; i < points.count; i++) {
		points.time_s[i] = (double)i - 8;
		points.mean[i] = i < 8 ? (double)i : 16 - (double)i;
	}
	side_fix(&points, 0, points.time_s[0]);
	for (double from_s = -9; from_s <= 8; from_s += 0.5) {
		for (double to_s = from_s; to_s <= 8; to_s += 0.5) {
			for (int fall = 0; fall < 2; fall++) {
				struct side side = side_at(&points, from_s, to_s, fall);
				struct side plain = side_plain(&points, from_s, to_s, fall);
				check_near(side.square, plain.square, 1e-11);
				check_near(side.load, plain.load, 1e-11);
				check_near(side.fixed[0], plain.fixed[0], 1e-11);
			}
		}
	}
}

/* The fixed parts are orthonormal, and nothing of them is left in the load. */
static void fixed_parts_are_orthonormal(void **state)
{
	(void)state;
	static struct side_points points;
	for (int turn = 0; turn < 200; turn++) {
		draw(&points);
		double length = sqrt(side_dot(points.mean, points.mean, points.count));
		for (size_t k = 0; k < points.fixed_count; k++) {
			for (size_t j = 0; j <= k; j++)
				check_near(side_dot(points.fixed[k], points.fixed[j], points.count),
					j == k, 1e-9);
			check_near(side_dot(points.fixed[k], points.load, points.count) / length, 0,
				1e-9);
		}
	}
}

int main(void)
{
	const char *seed = getenv("RAMPLOG_SEED");
	random_state.state = seed != NULL ? strtoull(seed, NULL, 10) : 1;
	printf("seed %llu\n", (unsigned long long)random_state.state);
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(sums_are_the_loop),
		cmocka_unit_test(at_the_edges),
		cmocka_unit_test(fixed_parts_are_orthonormal),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
