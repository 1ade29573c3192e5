/* SPDX-License-Identifier: MIT
 *
 * The sum of the cells: interpolation, gaps, and above all that arrival order does not matter.
 */
#include "measure/sum.h"
#include "unit/check.h"

#include <stdlib.h>
#include <string.h>

#define MS CLOCKS_NS_PER_MS

enum { KEPT_MAX = 8192 };

struct kept {
	size_t count;
	struct sample samples[KEPT_MAX];
};

static void keep(void *context, const struct sample *sample)
{
	struct kept *kept = context;
	assert_true(kept->count < KEPT_MAX);
	kept->samples[kept->count++] = *sample;
}

static const struct scale newtons[SUM_CELLS_MAX] = {{UNIT_NEWTON, {1, 0}, 0},
	{UNIT_NEWTON, {1, 0}, 0}, {UNIT_NEWTON, {1, 0}, 0}, {UNIT_NEWTON, {1, 0}, 0},
	{UNIT_NEWTON, {1, 0}, 0}, {UNIT_NEWTON, {1, 0}, 0}, {UNIT_NEWTON, {1, 0}, 0},
	{UNIT_NEWTON, {1, 0}, 0}};

/* A reading in micronewtons at a time in milliseconds. */
static struct reading at(int64_t time_ms, int64_t load_un)
{
	return (struct reading){
		.time = {time_ms * MS}, .value = {load_un, -6}, .unit = UNIT_NEWTON};
}

/* What most tests work on; large. */
static struct sum sum;
static struct kept kept;

static void begin(size_t cell_count, int64_t capacity_un)
{
	kept.count = 0;
	sum_init(&sum, cell_count, newtons, capacity_un);
}

static void feed(size_t cell, int64_t time_ms, int64_t load_un)
{
	struct reading reading = at(time_ms, load_un);
	assert_int_equal(sum_feed(&sum, cell, &reading, keep, &kept), SCALE_OK);
}

static void check_sample(size_t index, int64_t time_ms, int64_t load_un)
{
	assert_true(index < kept.count);
	assert_int_equal(kept.samples[index].time.ns, time_ms * MS);
	assert_int_equal(kept.samples[index].load_un, load_un);
}

static void one_cell_passes_straight_through(void **state)
{
	(void)state;
	begin(1, 1000);
	feed(0, 10, 1000);
	check_sample(0, 10, 1000);
	assert_int_equal(kept.samples[0].flags, 0);
	feed(0, 20, 1001);
	assert_int_equal(kept.samples[1].flags, SAMPLE_OVER_RANGE);
}

static void over_range_with_digits_is_shown_without_is_not(void **state)
{
	(void)state;
	begin(1, 0);
	struct reading over = at(10, 5000);
	over.status = READING_OVER;
	assert_int_equal(sum_feed(&sum, 0, &over, keep, &kept), SCALE_OK);
	check_sample(0, 10, 5000);
	assert_int_equal(kept.samples[0].flags, SAMPLE_OVER_RANGE);
	/* "OL": no digits; a zero here would look like a break */
	over.status = READING_OVER | READING_INVALID;
	assert_int_equal(sum_feed(&sum, 0, &over, keep, &kept), SCALE_NOT_VALID);
	assert_int_equal(kept.count, 1);
	/* With more cells than one there is no total. */
	sum_init(&sum, 2, newtons, 0);
	over.status = READING_OVER;
	assert_int_equal(sum_feed(&sum, 0, &over, keep, &kept), SCALE_NOT_VALID);
	assert_int_equal(kept.count, 1);
}

static void a_cell_out_of_its_range_marks_the_next_total(void **state)
{
	(void)state;
	for (size_t cell = 0; cell < 2; cell++) {
		begin(2, 0);
		struct reading over = at(5, 5000);
		over.status = READING_OVER;
		assert_int_equal(sum_feed(&sum, cell, &over, keep, &kept), SCALE_NOT_VALID);
		for (int64_t time = 10; time <= 30; time += 10) {
			feed(0, time, 100);
			feed(1, time, 100);
		}
		assert_int_equal(kept.count, 3);
		assert_int_equal(kept.samples[0].flags, SAMPLE_OVER_RANGE);
		assert_int_equal(kept.samples[1].flags, 0);
	}
}

static void the_other_cell_is_interpolated(void **state)
{
	(void)state;
	begin(2, 0);
	feed(1, 0, 1000);
	feed(0, 25, 10);
	assert_int_equal(kept.count, 0); /* waits for the second cell */
	feed(1, 100, 2000);
	check_sample(0, 25, 10 + 1250);
	feed(0, 100, 20); /* the very instant: no other reading needed */
	check_sample(1, 100, 20 + 2000);
	feed(0, 150, 30);
	feed(0, 160, 40);
	assert_int_equal(kept.count, 2);
	feed(1, 200, 2005); /* 2002.5 is a tie, 2003 is not */
	check_sample(2, 150, 30 + 2002);
	check_sample(3, 160, 40 + 2003);
}

static void a_reading_at_the_very_instant_needs_no_other(void **state)
{
	(void)state;
	begin(2, 0);
	feed(1, 50, 1000);
	feed(0, 50, 7);
	check_sample(0, 50, 1007);
	feed(0, 900, 8);
	feed(1, 900, 2000);
	check_sample(1, 900, 2008);
}

static void a_falling_cell_rounds_to_even_too(void **state)
{
	(void)state;
	begin(2, 0);
	feed(1, 0, 5);
	feed(0, 1, 0);
	feed(1, 2, -6); /* -0.5 */
	check_sample(0, 1, 0);
}

static void where_readings_are_too_far_apart_there_is_a_gap(void **state)
{
	(void)state;
	begin(2, 0);
	feed(0, -10, 0); /* before the first reading of cell 1 */
	feed(1, 0, 1000);
	assert_int_equal(kept.count, 0);
	feed(0, 100, 0);
	feed(1, 250, 1000); /* just within the tolerance */
	check_sample(0, 100, 1000);
	feed(0, 300, 0);
	feed(1, 501, 1000); /* just beyond it */
	assert_int_equal(kept.count, 1);
	feed(0, 501, 7);
	check_sample(1, 501, 1007);
	assert_int_equal(sum.lost, 0);
}

static void an_unusable_reading_widens_the_distance(void **state)
{
	(void)state;
	begin(2, 0);
	feed(1, 0, 1000);
	feed(0, 50, 0);
	struct reading pounds = at(100, 1000);
	pounds.unit = UNIT_POUND_FORCE;
	assert_int_equal(sum_feed(&sum, 1, &pounds, keep, &kept), SCALE_WRONG_UNIT);
	assert_int_equal(kept.count, 0);
	feed(1, 200, 1000);
	check_sample(0, 50, 1000);
}

static void a_total_beyond_what_is_represented_is_a_gap(void **state)
{
	(void)state;
	begin(2, 0);
	feed(1, 0, UNITS_LOAD_UN_MAX);
	feed(0, 0, 1);
	assert_int_equal(kept.count, 0);
	feed(1, 10, UNITS_LOAD_UN_MAX);
	feed(0, 10, 0);
	check_sample(0, 10, UNITS_LOAD_UN_MAX);
}

static void a_dead_cell_costs_samples_and_nothing_else(void **state)
{
	(void)state;
	begin(2, 0);
	feed(1, 0, 1000);
	for (int64_t i = 1; i <= SUM_PENDING + 10; i++)
		feed(0, i, i);
	assert_int_equal(kept.count, 0);
	assert_int_equal(sum.lost, 10);
	/* 255 ms after its last reading: too far for all of those that wait but the last */
	feed(1, SUM_PENDING + 10, 1000);
	assert_int_equal(kept.count, 1);
	check_sample(0, SUM_PENDING + 10, SUM_PENDING + 10 + 1000);
	feed(0, SUM_PENDING + 20, 5);
	feed(1, SUM_PENDING + 20, 1000);
	assert_int_equal(kept.count, 2);
}

static void feed_marked(size_t cell, int64_t time_ms, int64_t load_un, unsigned status)
{
	struct reading reading = at(time_ms, load_un);
	reading.status = status;
	assert_int_equal(sum_feed(&sum, cell, &reading, keep, &kept), SCALE_OK);
}

static void check_flags(size_t index, unsigned flags)
{
	assert_true(index < kept.count);
	assert_int_equal(kept.samples[index].flags, flags);
}

static void marks_of_one_cell_pass_to_its_samples(void **state)
{
	(void)state;
	begin(1, 0);
	feed_marked(0, 10, 1, READING_LATE);
	feed_marked(0, 20, 2, READING_LOST);
	feed_marked(0, 30, 2, READING_REPEATED); /* no sample, but the next one tells */
	feed_marked(0, 40, 3, 0);
	feed_marked(0, 50, 4, 0);
	assert_int_equal(kept.count, 4);
	check_flags(0, SAMPLE_LATE);
	check_flags(1, SAMPLE_LOST);
	check_flags(2, SAMPLE_REPEATED);
	check_flags(3, 0);
	assert_int_equal(kept.samples[2].load_un, 3);
}

/* Cell 1 is slower than cell 0, then faster: late is what a sample was made of, and what was lost
 * is told once. */
static void marks_of_other_cells_pass_to_what_is_made_of_them(void **state)
{
	(void)state;
	begin(2, 0);
	feed(1, 0, 0);
	feed(0, 10, 0);
	feed(0, 20, 0);
	feed_marked(1, 40, 0, READING_LATE | READING_LOST);
	check_flags(0, SAMPLE_LATE | SAMPLE_LOST);
	check_flags(1, SAMPLE_LATE);
	feed(0, 50, 0);
	feed(1, 60, 0);
	check_flags(2, SAMPLE_LATE); /* from the late point on */
	feed_marked(1, 70, 0, READING_LOST);
	feed(1, 80, 0);
	feed(1, 90, 0);
	feed(0, 85, 0);
	check_flags(3, SAMPLE_LOST); /* passed over, and told all the same */
	feed(0, 88, 0);
	check_flags(4, 0);
}

static void reset_forgets_what_waits(void **state)
{
	(void)state;
	begin(2, 0);
	feed(1, 0, 1000);
	feed(0, 5, 0);
	sum_reset(&sum);
	feed(1, 10, 1000);
	assert_int_equal(kept.count, 0);
}

/* One cell's own sequence: irregular times, some equal, now and then a gap or a bad reading. */
static size_t make_sequence(struct reading *readings, size_t max, int64_t end_ms)
{
	size_t count = 0;
	int64_t time_ms = lrand48() % 50, load = 0;
	while (time_ms < end_ms && count < max) {
		readings[count] = at(time_ms, load);
		if (lrand48() % 20 == 0)
			readings[count].status = READING_INVALID;
		static const unsigned marks[] = {READING_LATE, READING_LOST, READING_REPEATED};
		if (lrand48() % 10 == 0)
			readings[count].status |= marks[lrand48() % 3];
		count++;
		time_ms += lrand48() % 40 == 0 ? 200 + lrand48() % 200 : lrand48() % 60;
		load += lrand48() % 100000 - 20000;
	}
	return count;
}

enum { CELLS = 3, READINGS_MAX = 200 };

/* Feeds the sequences in an order drawn at random, each in its own order. */
static void feed_interleaved(struct reading sequences[CELLS][READINGS_MAX],
	const size_t counts[CELLS], struct kept *into)
{
	size_t next[CELLS] = {0};
	sum_init(&sum, CELLS, newtons, 3000000);
	into->count = 0;
	for (size_t left = counts[0] + counts[1] + counts[2]; left > 0;) {
		size_t cell = (size_t)lrand48() % CELLS;
		/* bursts as well as turns */
		for (long burst = 1 + lrand48() % 60; burst > 0 && next[cell] < counts[cell];
			burst--, left--)
			sum_feed(&sum, cell, &sequences[cell][next[cell]++], keep, into);
	}
}

static void arrival_order_does_not_change_the_samples(void **state)
{
	(void)state;
	static struct reading sequences[CELLS][READINGS_MAX];
	static struct kept once, again;
	size_t total = 0;
	for (long seed = 1; seed <= 50; seed++) {
		srand48(seed);
		size_t counts[CELLS];
		for (size_t cell = 0; cell < CELLS; cell++)
			counts[cell] = make_sequence(sequences[cell], READINGS_MAX, 5000);
		feed_interleaved(sequences, counts, &once);
		total += once.count;
		for (int order = 0; order < 20; order++) {
			feed_interleaved(sequences, counts, &again);
			if (again.count != once.count)
				fail_msg("seed %ld: %zu samples, then %zu", seed, once.count,
					again.count);
			for (size_t i = 0; i < once.count; i++) {
				const struct sample *a = &once.samples[i], *b = &again.samples[i];
				assert_int_equal(a->time.ns, b->time.ns);
				assert_int_equal(a->load_un, b->load_un);
				assert_int_equal(a->flags, b->flags);
			}
		}
	}
	assert_true(total > 1000);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(one_cell_passes_straight_through),
		cmocka_unit_test(over_range_with_digits_is_shown_without_is_not),
		cmocka_unit_test(a_cell_out_of_its_range_marks_the_next_total),
		cmocka_unit_test(the_other_cell_is_interpolated),
		cmocka_unit_test(a_reading_at_the_very_instant_needs_no_other),
		cmocka_unit_test(a_falling_cell_rounds_to_even_too),
		cmocka_unit_test(where_readings_are_too_far_apart_there_is_a_gap),
		cmocka_unit_test(an_unusable_reading_widens_the_distance),
		cmocka_unit_test(a_total_beyond_what_is_represented_is_a_gap),
		cmocka_unit_test(a_dead_cell_costs_samples_and_nothing_else),
		cmocka_unit_test(marks_of_one_cell_pass_to_its_samples),
		cmocka_unit_test(marks_of_other_cells_pass_to_what_is_made_of_them),
		cmocka_unit_test(reset_forgets_what_waits),
		cmocka_unit_test(arrival_order_does_not_change_the_samples),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
