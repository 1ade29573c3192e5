/* SPDX-License-Identifier: MIT */
#include "measure/level.h"

#include "unit/check.h"

static const int64_t STEP_NS = 50 * CLOCKS_NS_PER_MS;

/* Ten samples are a block; the load rises by so much a sample. */
static int64_t feed(
	struct level *level, int64_t from_ns, int count, int64_t load_un, int64_t rise_un)
{
	for (int i = 0; i < count; i++, from_ns += STEP_NS, load_un += rise_un) {
		const int64_t cells[] = {load_un - 7, 7};

		level_feed(level, &(struct sample){{from_ns}, load_un, 0}, cells);
	}
	return from_ns;
}

static void a_still_load_is_read_once_it_has_lasted(void **state)
{
	(void)state;
	struct level_mean mean;
	struct level level;

	level_init(&level, 2);
	int64_t now_ns = feed(&level, 1000, 20, 300, 0);
	assert_false(level_read(&level, 2, 0, &mean));
	feed(&level, now_ns, 1, 300, 0);
	assert_true(level_read(&level, 2, 0, &mean));
	assert_int_equal(mean.load_un, 300);
	assert_int_equal(mean.cells_un[0], 293);
	assert_int_equal(mean.cells_un[1], 7);
	assert_false(level_read(&level, 3, 0, &mean));
}

static void a_load_that_moves_is_no_zero(void **state)
{
	(void)state;
	struct level_mean mean;
	struct level level;

	level_init(&level, 2);
	feed(&level, 0, 41, 0, 10);
	/* means of blocks are 100 apart, four of them 300 */
	assert_false(level_read(&level, 4, 299, &mean));
	assert_true(level_read(&level, 4, 300, &mean));
	assert_int_equal(mean.load_un, 195);
}

static void only_the_newest_blocks_count(void **state)
{
	(void)state;
	struct level_mean mean;
	struct level level;

	level_init(&level, 2);
	int64_t now_ns = feed(&level, 0, 100, 5000, 0);
	feed(&level, now_ns, 41, 20, 0);
	assert_true(level_read(&level, 4, 0, &mean));
	assert_int_equal(mean.load_un, 20);
}

static void a_gap_begins_afresh(void **state)
{
	(void)state;
	struct level_mean mean;
	struct level level;

	level_init(&level, 2);
	int64_t now_ns = feed(&level, 0, 41, 20, 0);
	assert_true(level_read(&level, 4, 0, &mean));
	feed(&level, now_ns + CLOCKS_NS_PER_S, 11, 20, 0);
	assert_false(level_read(&level, 2, 0, &mean));
	assert_true(level_read(&level, 1, 0, &mean));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_still_load_is_read_once_it_has_lasted),
		cmocka_unit_test(a_load_that_moves_is_no_zero),
		cmocka_unit_test(only_the_newest_blocks_count),
		cmocka_unit_test(a_gap_begins_afresh),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
