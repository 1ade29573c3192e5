/* SPDX-License-Identifier: MIT
 *
 * The queue to the writer and the pre-roll: order, bounds, and how much memory they touch.
 */
#include "preroll.h"
#include "ring.h"
#include "unit/check.h"

#include <stdbool.h>

enum { SIZE = 4 * RING_RESERVE };

static struct job reading_job(int64_t number)
{
	return (struct job){.kind = JOB_READING, .reading = {.time = {number}}};
}

static void test_order_across_the_end(void **state)
{
	struct ring ring;
	int64_t put = 0, taken = 0;

	(void)state;
	assert_true(ring_init(&ring, SIZE));
	for (int round = 0; round < 50; round++) {
		for (int i = 0; i < 500; i++) {
			struct job job = reading_job(put++);

			assert_true(ring_put(&ring, &job));
		}
		/* leaves more and more behind, up to 250 */
		size_t count = ring.count - (size_t)round * 5;
		for (size_t i = 0; i < count; i++)
			assert_int_equal(ring_at(&ring, i)->reading.time.ns, taken++);
		ring_drop(&ring, count);
	}
	ring_finish(&ring);
}

static void test_bounds(void **state)
{
	struct ring ring;
	struct job job = reading_job(1), note = {.kind = JOB_NOTE};

	(void)state;
	assert_true(ring_init(&ring, SIZE));
	for (int i = 0; i < SIZE - RING_RESERVE; i++)
		assert_true(ring_put(&ring, &job));
	assert_false(ring_put(&ring, &job));
	for (int i = 0; i < RING_RESERVE; i++)
		assert_true(ring_put(&ring, &note));
	assert_false(ring_put(&ring, &note));
	ring_drop(&ring, RING_RESERVE + 1);
	assert_true(ring_put(&ring, &job));
	ring_finish(&ring);
}

/* A ring that is mostly empty must not walk through all of its memory. */
static void test_stays_at_the_beginning(void **state)
{
	struct ring ring;
	struct job job = reading_job(1);

	(void)state;
	assert_true(ring_init(&ring, (size_t)64 * 1024));
	for (int round = 0; round < 1000; round++) {
		for (int i = 0; i < 300; i++)
			assert_true(ring_put(&ring, &job));
		ring_drop(&ring, ring.count - 10);
		assert_true(ring.first == 0);
	}
	ring_finish(&ring);
}

static void put_reading(struct preroll *preroll, size_t cell, int64_t time_ns)
{
	struct reading reading = {.time = {time_ns}};

	preroll_put(preroll, cell, &reading);
}

static void test_preroll_keeps_two_seconds(void **state)
{
	const int64_t step_ns = CLOCKS_NS_PER_S / 1000;
	struct preroll preroll;

	(void)state;
	assert_true(preroll_init(&preroll));
	for (int64_t i = 0; i < 20000; i++) {
		put_reading(&preroll, (size_t)(i % 3), i * step_ns);
		size_t expected = i < 2000 ? (size_t)i + 1 : 2001;
		assert_int_equal(preroll.count, expected);
		const struct preroll_entry oldest = preroll_at(&preroll, 0);
		int64_t first = i + 1 - (int64_t)expected;
		assert_int_equal(oldest.reading.time.ns, first * step_ns);
		assert_int_equal(oldest.cell, (size_t)(first % 3));
	}
	for (size_t i = 1; i < preroll.count; i++)
		assert_int_equal(preroll_at(&preroll, i).reading.time.ns -
					 preroll_at(&preroll, i - 1).reading.time.ns,
			step_ns);
	/* no more of its memory than two seconds take */
	assert_true(preroll.limit <= 2560);
	preroll_clear(&preroll);
	put_reading(&preroll, 1, 7);
	assert_int_equal(preroll.count, 1);
	assert_int_equal(preroll_at(&preroll, 0).reading.time.ns, 7);
	preroll_finish(&preroll);
}

static void test_preroll_gives_back_all_of_a_reading(void **state)
{
	const struct reading reading = {.time = {INT64_MAX / 2},
		.value = {-INT64_C(123456789012345678), -18},
		.unit = UNIT_COUNT - 1,
		.status = READING_OVER | READING_ZERO_ERROR,
		.counter = INT64_MIN};
	struct preroll preroll;

	(void)state;
	assert_true(preroll_init(&preroll));
	preroll_put(&preroll, 7, &reading);
	const struct preroll_entry entry = preroll_at(&preroll, 0);
	assert_int_equal(entry.cell, 7);
	assert_int_equal(entry.reading.time.ns, reading.time.ns);
	assert_int_equal(entry.reading.value.mantissa, reading.value.mantissa);
	assert_int_equal(entry.reading.value.exponent, reading.value.exponent);
	assert_int_equal(entry.reading.unit, reading.unit);
	assert_int_equal(entry.reading.status, reading.status);
	assert_int_equal(entry.reading.counter, reading.counter);
	preroll_finish(&preroll);
}

static void test_preroll_is_bounded(void **state)
{
	struct preroll preroll;

	(void)state;
	assert_true(preroll_init(&preroll));
	for (int64_t i = 0; i < 3 * PREROLL_MAX; i++)
		put_reading(&preroll, 0, i);
	assert_int_equal(preroll.count, PREROLL_MAX);
	assert_int_equal(preroll_at(&preroll, 0).reading.time.ns, 2 * PREROLL_MAX);
	preroll_finish(&preroll);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_order_across_the_end),
		cmocka_unit_test(test_bounds),
		cmocka_unit_test(test_stays_at_the_beginning),
		cmocka_unit_test(test_preroll_keeps_two_seconds),
		cmocka_unit_test(test_preroll_gives_back_all_of_a_reading),
		cmocka_unit_test(test_preroll_is_bounded),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
