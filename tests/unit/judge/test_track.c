/* SPDX-License-Identifier: MIT
 *
 * The track and the windows that slide along it, against the same done the long way.
 */
#include "judge/track.h"
#include "unit/check.h"
#include "unit/random.h"

#include <string.h>

enum { CAPACITY = 4000 };

static struct track empty_track(size_t capacity)
{
	struct track track;
	assert_true(track_init(&track, capacity));
	return track;
}

/* A ramp of 1 uN per 1000 ns, a sample every 1000 ns. */
static void add_ramp(struct track *track, int64_t from, int64_t to)
{
	for (int64_t i = from; i < to; i++)
		track_add(track, (struct slope_point){i * 1000, i});
}

static void thins_by_halves(void **state)
{
	(void)state;
	struct track track = empty_track(10);
	add_ramp(&track, 0, 10);
	assert_int_equal(track.count, 10);
	assert_true(track_add(&track, (struct slope_point){10000, 10}));
	assert_int_equal(track.count, 6);
	const int64_t kept[] = {1, 3, 5, 7, 9, 10}; /* the newest are never the ones that go */
	for (size_t i = 0; i < 6; i++)
		assert_int_equal(track_load_un(&track, i), kept[i]);
	assert_false(track_add(&track, (struct slope_point){11000, 11}));
	track_finish(&track);
}

static void finds_levels(void **state)
{
	(void)state;
	struct track track = empty_track(CAPACITY);
	add_ramp(&track, 0, 100);
	track_add(&track, (struct slope_point){100000, 40});
	assert_int_equal(track_reach(&track, 0, 30), 30);
	assert_int_equal(track_reach(&track, 50, 30), 50);
	assert_int_equal(track_reach(&track, 0, 100), track.count);
	assert_int_equal(track_below(&track, 60, 60), 100);
	assert_int_equal(track_below(&track, 60, 40), track.count);
	assert_int_equal(track_below(&track, 0, 30), 0);
	track_finish(&track);
}

/* The window holds exactly the points of the last length_ns, whatever their spacing. */
static void window_holds_its_length(void **state)
{
	(void)state;
	enum { LENGTH_NS = 50000, FIRST = 17 };
	struct track track = empty_track(CAPACITY);
	struct random random = {3};
	int64_t time_ns = 0;
	for (size_t i = 0; i < 2000; i++) {
		time_ns += 1 + random_pick(&random, i % 200 == 0 ? 100000 : 3000);
		track_add(&track, (struct slope_point){time_ns, random_pick(&random, 1000000)});
	}
	struct window window;
	window_init(&window, LENGTH_NS, FIRST);
	for (size_t i = FIRST; i < track.count; i++) {
		window_advance(&window, &track, window.next + 1);
		size_t first = i;
		struct slope slope;
		slope_init(&slope);
		while (first > FIRST &&
			track_time_ns(&track, i) - track_time_ns(&track, first - 1) <= LENGTH_NS)
			first--;
		for (size_t k = first; k <= i; k++)
			slope_add(&slope, track_at(&track, k));
		assert_int_equal(window.first, first);
		assert_int_equal(window.next, i + 1);
		struct slope_fit slid = {0}, fresh = {0};
		assert_int_equal(slope_fit(&window.slope, &slid), slope_fit(&slope, &fresh));
		assert_memory_equal(&slid, &fresh, sizeof slid);
		int64_t reach_ns = track_time_ns(&track, i) - track_time_ns(&track, first);
		check_near(window_reach(&window), (double)reach_ns / LENGTH_NS, 1e-15);
	}
	track_finish(&track);
}

static void empty_window_reaches_nowhere(void **state)
{
	(void)state;
	struct track track = empty_track(CAPACITY);
	struct window window;
	window_init(&window, 1000, 0);
	check_near(window_reach(&window), 0, 0);
	track_finish(&track);
}

/* Rebuilt after thinning: the points of the last length_ns that are still there, and none from
 * before the window's beginning. */
static void rebuilt_after_thinning(void **state)
{
	(void)state;
	struct track track = empty_track(101);
	struct window window;
	add_ramp(&track, 0, 60);
	window_init(&window, 80000, 60); /* begins at 60 us: what was before is not its */
	add_ramp(&track, 60, 101);
	while (window.next < track.count)
		window_advance(&window, &track, window.next + 1);
	assert_true(track_add(&track, (struct slope_point){101000, 101}));
	window_rebuild(&window, &track);
	assert_int_equal(track_time_ns(&track, window.first), 61000);
	assert_int_equal(window.next, track.count);
	assert_int_equal(window.slope.count, 21); /* 61, 63, ... 99, 101 */
	struct slope_fit fit;
	assert_true(slope_fit(&window.slope, &fit));
	check_near(fit.rate_n_s, 1e-6 / 1e-6, 1e-12);
	track_finish(&track);
}

/* Never more points than the exact sums have room for. */
static void window_is_bounded(void **state)
{
	(void)state;
	struct track track = empty_track(SLOPE_POINTS_MAX + 100);
	struct window window;
	add_ramp(&track, 0, SLOPE_POINTS_MAX + 100);
	window_init(&window, INT64_MAX, 0);
	while (window.next < track.count)
		window_advance(&window, &track, window.next + 1);
	assert_int_equal(window.slope.count, SLOPE_POINTS_MAX);
	assert_int_equal(window.first, 100);
	window_rebuild(&window, &track);
	assert_int_equal(window.slope.count, SLOPE_POINTS_MAX);
	track_finish(&track);
}

/* Loads and times of every kind that a cell can send, and some that none does. */
static struct slope_point draw(struct random *random, int kind, int64_t i)
{
	int64_t time_ns = i * 1000000 + random_pick(random, 200000);
	int64_t steps = random_pick(random, 50);
	const struct slope_point kinds[] = {
		{time_ns, (i + steps) * 10000000},
		{time_ns, (i + steps) * 10000000 - 123456789}, /* a zero taken off */
		{time_ns, random_pick(random, 1000000000)},    /* the sum of two cells */
		{i * 1000000, 5000000},                        /* nothing moves */
		{time_ns + (i > 700 ? INT64_C(40000000000) : 0), steps * -7},
		{time_ns + (i > 700 ? INT64_C(4500000000000000000) : 0), steps}, /* years */
		{i * (INT64_C(4500000000000000000) / CAPACITY),
			i % 2 ? UNITS_LOAD_UN_MAX - steps : -UNITS_LOAD_UN_MAX},
	};
	return kinds[kind];
}
enum { DRAW_KINDS = 7 };

/* What was put in comes out, in any order, also after the newest were taken off, and after halves.
 */
static void packing_loses_nothing(void **state)
{
	(void)state;
	static struct slope_point plain[CAPACITY];
	struct track track = empty_track(CAPACITY);
	struct random random = {7};
	for (int kind = 0; kind < DRAW_KINDS; kind++) {
		size_t count = 0;
		track_cut(&track, 0);
		while (count < CAPACITY) {
			plain[count] = draw(&random, kind, (int64_t)count);
			assert_false(track_add(&track, plain[count++]));
			bool cut = random_pick(&random, 400) == 0;
			if (cut)
				count -= (size_t)random_pick(&random, (int)count);
			if (cut)
				track_cut(&track, count);
			size_t i = count > 0 ? (size_t)random_pick(&random, (int)count) : 0;
			struct slope_point got = track_at(&track, i);
			assert_true(count == 0 || memcmp(&got, &plain[i], sizeof got) == 0);
		}
		assert_true(track_add(&track, plain[0]));
		assert_int_equal(track.count, CAPACITY / 2 + 1);
		for (size_t i = 0; i < CAPACITY / 2; i++) {
			struct slope_point got = track_at(&track, i);
			assert_memory_equal(&got, &plain[2 * i + 1], sizeof got);
		}
	}
	track_finish(&track);
}

/* By the blocks' headers the same is found as sample by sample. */
static void finds_levels_in_blocks(void **state)
{
	(void)state;
	static int64_t loads_un[CAPACITY];
	struct track track = empty_track(CAPACITY);
	struct random random = {11};
	for (int64_t i = 0; i < CAPACITY; i++) { /* up and down again, each load many times */
		int64_t hill = i < CAPACITY / 2 ? i : CAPACITY - i;
		loads_un[i] = hill / 50 * 1000 + random_pick(&random, 3) * 1000;
		track_add(&track, (struct slope_point){i * 1000000, loads_un[i]});
	}
	for (int round = 0; round < 2000; round++) {
		size_t begin = (size_t)random_pick(&random, CAPACITY), top = begin;
		size_t reach = CAPACITY, below = CAPACITY;
		int64_t load_un = random_pick(&random, 46) * 1000 + random_pick(&random, 3) - 1;
		for (size_t i = CAPACITY; i-- > begin;) {
			reach = loads_un[i] >= load_un ? i : reach;
			below = loads_un[i] < load_un ? i : below;
			top = loads_un[i] >= loads_un[top] ? i : top;
		}
		for (size_t i = CAPACITY; i-- > begin;)
			top = loads_un[i] == loads_un[top] ? i : top;
		assert_int_equal(track_reach(&track, begin, load_un), reach);
		assert_int_equal(track_below(&track, begin, load_un), below);
		assert_int_equal(track_largest(&track, begin), top);
	}
	track_finish(&track);
}

/* 1 kHz in steps of 10 N, late by up to 0.2 ms: 19 bits of time and 7 of load. */
static void packed_samples_are_small(void **state)
{
	(void)state;
	struct track track = empty_track(CAPACITY);
	struct random random = {9};
	for (int64_t i = 0; i < CAPACITY; i++)
		track_add(&track, draw(&random, 1, i));
	assert_in_range(track.packed, CAPACITY - TRACK_FRESH, CAPACITY);
	assert_in_range(
		track.word_count * sizeof(uint64_t), 3 * track.packed, (19 + 8) * track.packed / 8);
	track_finish(&track);
}

/* Means over a whole period of a swing lie on the ramp that it is laid over. */
static void smoothing_removes_a_swing(void **state)
{
	(void)state;
	enum { PERIOD_NS = 200000, COUNT = 2000 };
	struct track track = empty_track(CAPACITY);
	struct slope_point smooth[COUNT];
	for (int64_t i = 0; i < COUNT; i++)
		track_add(&track,
			(struct slope_point){i * 1000,
				i * 1000 + llround(50000 * sin(2 * M_PI * (double)i / 200))});
	size_t count = track_smooth(&track, 0, PERIOD_NS, smooth, COUNT);
	/* from 0 to the last that fits before 1999 us, 50 us apart */
	assert_int_equal(count, (1999000 - PERIOD_NS) / (PERIOD_NS / 4) + 1);
	for (size_t k = 0; k < count; k++) {
		assert_int_equal(smooth[k].time_ns, PERIOD_NS / 2 + (int64_t)k * PERIOD_NS / 4);
		/* a sample stands at the beginning of its interval: half an interval early */
		check_near((double)smooth[k].load_un, (double)smooth[k].time_ns - 500, 2);
	}
	assert_int_equal(track_smooth(&track, 0, PERIOD_NS, smooth, 7), 7);
	track_finish(&track);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(thins_by_halves),
		cmocka_unit_test(finds_levels),
		cmocka_unit_test(window_holds_its_length),
		cmocka_unit_test(empty_window_reaches_nowhere),
		cmocka_unit_test(rebuilt_after_thinning),
		cmocka_unit_test(window_is_bounded),
		cmocka_unit_test(packing_loses_nothing),
		cmocka_unit_test(finds_levels_in_blocks),
		cmocka_unit_test(packed_samples_are_small),
		cmocka_unit_test(smoothing_removes_a_swing),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
