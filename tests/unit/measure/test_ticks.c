/* SPDX-License-Identifier: MIT
 *
 * The cell's own counter: what is missing or comes twice, and times that no delay can shift.
 */
#include "measure/ticks.h"
#include "unit/check.h"

#include <stdlib.h>

static const struct pattern_counter counting = {.present = true, .wrap = 1000, .per_reading = true};
static const struct pattern_counter every_10_ms = {
	.present = true, .wrap = 1000, .tick_ns = 10000000, .per_reading = true};
static const struct pattern_counter clock_ns = {.present = true, .tick_ns = 1};

static void missing_and_repeated_readings_are_found(void **state)
{
	(void)state;
	struct ticks ticks;
	struct mono_time time = {7};
	ticks_reset(&ticks);
	assert_int_equal(ticks_feed(&ticks, &counting, 997, (struct mono_time){1}, &time), 0);
	assert_int_equal(ticks_feed(&ticks, &counting, 998, (struct mono_time){2}, &time), 0);
	assert_int_equal(
		ticks_feed(&ticks, &counting, 998, (struct mono_time){3}, &time), TICKS_REPEATED);
	assert_int_equal(ticks_feed(&ticks, &counting, 999, (struct mono_time){4}, &time), 0);
	assert_int_equal(ticks_feed(&ticks, &counting, 0, (struct mono_time){5}, &time), 0);
	assert_int_equal(
		ticks_feed(&ticks, &counting, 2, (struct mono_time){6}, &time), TICKS_LOST);
	assert_int_equal(ticks_feed(&ticks, &counting, 3, (struct mono_time){7}, &time), 0);
	/* The cell was switched off and on. */
	assert_int_equal(
		ticks_feed(&ticks, &counting, 0, (struct mono_time){8}, &time), TICKS_LOST);
	assert_int_equal(ticks_feed(&ticks, &counting, 1, (struct mono_time){9}, &time), 0);
	assert_int_equal(time.ns, 7); /* a count alone tells no time */
}

/* 100 Hz, 80 ppm fast, delivered in irregular heaps: the times found are as even as the cell's. */
static void delays_do_not_shift_the_times(void **state)
{
	(void)state;
	struct ticks ticks;
	const double period_ns = 1e7 * (1 - 80e-6);
	const int64_t begin_ns = 1000000000;
	int64_t deliver = 0;
	ticks_reset(&ticks);
	srand48(3);
	for (int64_t i = 0, heap = 0; i < 6000; i++) {
		if (i >= deliver) {
			heap = lrand48() % 100 == 0 ? 50 : lrand48() % 3; /* a stall of 0.5 s */
			deliver = i + heap + 1;
		}
		double taken_ns = (double)begin_ns + (double)i * period_ns;
		double arrival_ns = (double)begin_ns + (double)(deliver - 1) * period_ns;
		struct mono_time time = {0}, arrival = {(int64_t)arrival_ns};
		ticks_feed(&ticks, &every_10_ms, i % 1000, arrival, &time);
		assert_true(time.ns <= arrival.ns);
		if (i > 100)
			check_near((double)time.ns, taken_ns, 0.3e6);
	}
}

static void a_clock_that_begins_anew_is_followed(void **state)
{
	(void)state;
	struct ticks ticks;
	struct mono_time time = {0};
	ticks_reset(&ticks);
	assert_int_equal(
		ticks_feed(&ticks, &clock_ns, 5000000000, (struct mono_time){100}, &time), 0);
	assert_int_equal(
		ticks_feed(&ticks, &clock_ns, 5010000000, (struct mono_time){10000100}, &time), 0);
	assert_int_equal(time.ns, 10000100);
	/* 20 ms late */
	assert_int_equal(
		ticks_feed(&ticks, &clock_ns, 5020000000, (struct mono_time){40000100}, &time), 0);
	check_near((double)time.ns, 20000100, 1e4);
	assert_int_equal(
		ticks_feed(&ticks, &clock_ns, 3, (struct mono_time){50000000}, &time), TICKS_LOST);
	assert_int_equal(
		ticks_feed(&ticks, &clock_ns, 10000003, (struct mono_time){60000000}, &time), 0);
	assert_int_equal(time.ns, 60000000);
	/* A clock that is wrong by more than any delay is another clock. */
	assert_int_equal(ticks_feed(&ticks, &clock_ns, 10000004,
				 (struct mono_time){60000000 + TICKS_LATE_NS_MAX + 1000000}, &time),
		TICKS_LOST);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(missing_and_repeated_readings_are_found),
		cmocka_unit_test(delays_do_not_shift_the_times),
		cmocka_unit_test(a_clock_that_begins_anew_is_followed),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
