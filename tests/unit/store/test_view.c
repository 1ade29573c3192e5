/* SPDX-License-Identifier: MIT
 *
 * The view `reading`: whoever has nothing but SQL gets every reading as it was received, whatever
 * kind of chunk it lies in.
 */
#include "unit/check.h"
#include "unit/random.h"
#include "unit/store/fixture.h"

#include <math.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { BATCH = 40 };

/* What the store itself gives, in its order. */
struct stored {
	size_t count;
	struct {
		size_t cell;
		struct reading reading;
	} list[4000];
};

static struct stored stored;

static bool keep(void *context, size_t cell, const struct reading *reading)
{
	(void)context;
	assert_true(stored.count < sizeof(stored.list) / sizeof(stored.list[0]));
	stored.list[stored.count].cell = cell;
	stored.list[stored.count++].reading = *reading;
	return true;
}

static int64_t open_run(struct store *store, enum unit unit, struct decimal factor)
{
	struct run_start start;
	int64_t run = 0;

	fixture_start(&start, "north", NULL, 2);
	start.cells[1].scale = (struct scale){unit, factor, 250000};
	fixture_begin(store);
	assert_int_equal(store_run_open(store, &start, &run), STORE_OK);
	fixture_commit(store);
	return run;
}

/* A cell that counts or not, stamped late or not, that changes its form or not. */
static void add_batch(struct store *store, int64_t run, size_t cell, int64_t first, unsigned kind)
{
	static struct random random = {7};
	struct reading readings[BATCH];

	for (int64_t i = 0; i < BATCH; i++) {
		int64_t at = first + i;
		readings[i] = (struct reading){
			.time = {at * 10 * CLOCKS_NS_PER_MS + random_pick(&random, 5000)},
			.value = {at * 13 - 400, kind & 8 && i % 7 == 3 ? 1 : -2},
			.unit = kind & 8 && i % 5 == 0 ? UNIT_NONE : UNIT_KILONEWTON,
			.status = kind & 8 && i % 9 == 0 ? READING_OVER | READING_LOST
							 : READING_MOTION,
		};
		if (kind & 1)
			readings[i].moved_ns = kind & 4 ? random_pick(&random, 90000) : 1234;
		if (kind & 2)
			readings[i].counter = at * 3 + (kind & 4 && i % 11 == 5 ? 2 : 0);
	}
	fixture_begin(store);
	assert_int_equal(store_readings_add(store, run, cell, readings, BATCH), STORE_OK);
	fixture_commit(store);
}

static sqlite3_stmt *select_readings(sqlite3 *db, int64_t run)
{
	sqlite3_stmt *rows;

	assert_int_equal(sqlite3_prepare_v2(db,
				 "SELECT cell, time_mono_ns, stamp_mono_ns, mantissa, exponent,"
				 " unit, status, counter, value, load_n, time_s"
				 " FROM reading WHERE run = ? ORDER BY seq, position",
				 -1, &rows, NULL),
		SQLITE_OK);
	sqlite3_bind_int64(rows, 1, run);
	return rows;
}

static void compare_row(sqlite3_stmt *row, size_t i, int64_t origin_ns)
{
	const struct reading *reading = &stored.list[i].reading;
	double value = (double)reading->value.mantissa * pow(10, reading->value.exponent);

	assert_int_equal(sqlite3_column_int64(row, 0), stored.list[i].cell);
	assert_int_equal(sqlite3_column_int64(row, 1), reading->time.ns);
	assert_int_equal(sqlite3_column_int64(row, 2), reading->time.ns + reading->moved_ns);
	assert_int_equal(sqlite3_column_int64(row, 3), reading->value.mantissa);
	assert_int_equal(sqlite3_column_int64(row, 4), reading->value.exponent);
	assert_string_equal(sqlite3_column_text(row, 5), units_text(reading->unit));
	assert_int_equal(sqlite3_column_int64(row, 6), reading->status);
	assert_int_equal(sqlite3_column_int64(row, 7), reading->counter);
	assert_true(fabs(sqlite3_column_double(row, 8) - value) <= 1e-9 * fabs(value));
	double time_s = (double)(reading->time.ns - origin_ns) / 1e9;
	assert_true(fabs(sqlite3_column_double(row, 10) - time_s) < 1e-9);
}

/* Every reading of the run, one after the other, and nothing else. */
static void compare_run(struct store *store, const char *path, int64_t run)
{
	struct run_record record;
	sqlite3 *db;

	stored.count = 0;
	assert_int_equal(store_readings_each(store, run, keep, NULL), STORE_OK);
	assert_int_equal(store_run_load(store, run, &record), STORE_OK);
	assert_int_equal(sqlite3_open_v2(path, &db, SQLITE_OPEN_READONLY, NULL), SQLITE_OK);
	sqlite3_stmt *rows = select_readings(db, run);
	for (size_t i = 0; i < stored.count; i++) {
		assert_int_equal(sqlite3_step(rows), SQLITE_ROW);
		compare_row(rows, i, record.start.origin.ns);
		struct reading plain = stored.list[i].reading;
		int64_t load_un = 0;
		plain.status = 0;
		plain.unit = UNIT_NONE;
		if (scale_apply(&record.start.cells[stored.list[i].cell].scale, &plain, &load_un) ==
			SCALE_OK)
			assert_true(fabs(sqlite3_column_double(rows, 9) - (double)load_un / 1e6) <=
				    1e-6 + 1e-12 * fabs((double)load_un));
	}
	assert_int_equal(sqlite3_step(rows), SQLITE_DONE);
	sqlite3_finalize(rows);
	assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

static void test_readings_as_received(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	int64_t run = open_run(store, UNIT_POUND_FORCE, (struct decimal){25, -1});
	int64_t other = open_run(store, UNIT_KILONEWTON, (struct decimal){1, 0});

	for (unsigned kind = 0; kind < 16; kind++) {
		add_batch(store, run, kind % 2, kind * BATCH, kind);
		add_batch(store, other, 1 - kind % 2, kind * BATCH, 15 - kind);
	}
	add_batch(store, run, 0, 1000, 15);
	compare_run(store, *state, run);
	assert_int_equal(stored.count, 17 * BATCH);
	compare_run(store, *state, other);
	store_close(store);
}

/* Every unit that a cell may have, as newtons. */
static void test_loads_in_every_unit(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);

	for (int unit = UNIT_NONE + 1; unit < UNIT_COUNT; unit++) {
		int64_t run = open_run(store, (enum unit)unit, (struct decimal){125, -3});
		add_batch(store, run, 1, 5, 0);
		compare_run(store, *state, run);
	}
	store_close(store);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		FIXTURE_TEST(test_readings_as_received),
		FIXTURE_TEST(test_loads_in_every_unit),
	};

	return cmocka_run_group_tests_name("view", tests, NULL, NULL);
}
