/* SPDX-License-Identifier: MIT
 *
 * The pace of a cell whose readings come one by one, in chunks, or not at all for a while.
 */
#include "judge/chunk.h"
#include "unit/check.h"

static int64_t pace_ns; /* of the cell */

/* So many readings, `size` of them in a chunk; gap_ns passes before the reading number gap_at. */
static struct track drawn(int count, int size, int gap_at, int64_t gap_ns)
{
	struct track track;
	assert_true(track_init(&track, 1000));
	for (int i = 0; i < count; i++) {
		int64_t late_ns = i >= gap_at ? gap_ns : 0;
		int64_t whole = (i / size + 1) * size * pace_ns, apart = i % size; /* in order */
		track_add(&track, (struct slope_point){whole + apart + late_ns, i});
	}
	return track;
}

static double pace(int count, int size, int gap_at, int64_t gap_ns)
{
	struct track track = drawn(count, size, gap_at, gap_ns);
	double found = chunk_pace(&track, track.count - 1);
	track_finish(&track);
	return found;
}

static void pace_of_readings(void **state)
{
	(void)state;
	const int64_t paces_ns[] = {1000000, 100000000};
	for (int i = 0; i < 2; i++) {
		pace_ns = paces_ns[i];
		double pace_is = (double)pace_ns;
		check_near(pace(100, 1, 100, 0), pace_is, 1e-3 * pace_is);
		check_near(pace(100, 5, 100, 0), pace_is, 0.1 * pace_is);
		check_near(pace(100, 16, 100, 0), pace_is, 0.3 * pace_is);
	}
	assert_true(pace(1, 1, 1, 0) == 0);
}

/* Three seconds without readings say nothing of it. */
static void a_gap_is_no_pace(void **state)
{
	(void)state;
	pace_ns = 1000000;
	check_near(pace(100, 1, 90, 3000000000), 1e6, 1e3);
	check_near(pace(100, 5, 90, 3000000000), 1e6, 0.2e6);
}

/* What follows it was taken when it is stamped; what came in a chunk was taken before. */
static void when_taken(void **state)
{
	(void)state;
	pace_ns = 1000000;
	struct track track = drawn(100, 1, 90, 3000000000);
	double found_ns = chunk_pace(&track, 99);
	for (size_t i = 80; i < 100; i++)
		assert_int_equal(chunk_taken(&track, i, found_ns), track_time_ns(&track, i));
	track_finish(&track);
	track = drawn(100, 5, 100, 0);
	double step = (double)(chunk_taken(&track, 92, 1e6) - chunk_taken(&track, 91, 1e6));
	check_near(step, 1e6, 1e3);
	track_finish(&track);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(pace_of_readings),
		cmocka_unit_test(a_gap_is_no_pace),
		cmocka_unit_test(when_taken),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
