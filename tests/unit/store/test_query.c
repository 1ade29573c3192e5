/* SPDX-License-Identifier: MIT
 *
 * Lists of runs: what is in them, in which order, and that indexes answer them.
 */
#include "store/sql.h"
#include "unit/check.h"
#include "unit/store/fixture.h"

#include <sqlite3.h>
#include <stdio.h>
#include <string.h>

struct listed {
	char text[120];
};

static bool list_row(void *context, const struct run_row *row)
{
	struct listed *listed = context;
	size_t length = strlen(listed->text);

	snprintf(listed->text + length, sizeof(listed->text) - length, "%d ", (int)row->run);
	return true;
}

static void assert_list(struct store *store, const struct run_filter *filter, const char *runs)
{
	struct listed listed = {""};

	assert_int_equal(store_runs_each(store, filter, list_row, &listed), STORE_OK);
	assert_string_equal(listed.text, runs);
}

struct rates {
	struct store *store;
	int64_t run;
};

/* As the whole run has it. */
static bool compare_rate(void *context, const struct rate_row *row)
{
	static struct run_record record;
	const struct rate *rate = &record.outcome.judgement.rate;
	struct rates *rates = context;

	assert_int_equal(store_run_load(rates->store, ++rates->run, &record), STORE_OK);
	assert_string_equal(row->press, record.row.press);
	assert_string_equal(row->set, record.row.set);
	assert_string_equal(row->technician, record.fracture.by.name);
	assert_int_equal(row->started.ns, record.start.started.ns);
	assert_int_equal(row->voided, record.row.voided);
	assert_int_equal(row->end, record.outcome.judgement.end);
	assert_true(row->strength_pa == record.outcome.strength_pa);
	assert_int_equal(row->verdict, rate->verdict);
	assert_true(row->band_low_pa_s == rate->band_low_pa_s);
	assert_true(row->band_high_pa_s == rate->band_high_pa_s);
	assert_true(row->mean_pa_s == rate->mean_pa_s);
	assert_true(row->lowest_pa_s == rate->lowest_pa_s);
	assert_true(row->highest_pa_s == rate->highest_pa_s);
	assert_int_equal(row->window_ns, rate->window_ns);
	return true;
}

static void test_rates(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	struct rates rates = {.store = store};

	fixture_run(store, "north", "A-1", 1, 0.25, NULL);
	fixture_run(store, "south", NULL, 1, 0.5, NULL);
	fixture_run(store, "north", "B-1", 1, 0.25, NULL);
	fixture_run_open(store, "north", NULL);
	fixture_begin(store);
	assert_int_equal(store_fracture_add(store, 1, 3, "", &fixture_actor, (struct utc_time){1}),
		STORE_OK);
	assert_int_equal(
		store_run_void(store, 3, true, "spilt", &fixture_actor, (struct utc_time){1}),
		STORE_OK);
	fixture_commit(store);
	assert_int_equal(
		store_rates_each(store, &(struct run_filter){.limit = 0}, compare_rate, &rates),
		STORE_OK);
	assert_int_equal(rates.run, 3);
	rates.run = 1;
	assert_int_equal(store_rates_each(store, &(struct run_filter){.press = "south"},
				 compare_rate, &rates),
		STORE_OK);
	assert_int_equal(rates.run, 2);
	store_close(store);
}

static void test_lists(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	struct run_record second;

	fixture_run(store, "north", "A-1", 1, 0.25, NULL);
	fixture_run(store, "south", "B-1", 1, 0.5, NULL);
	fixture_run(store, "north", "A-2", 1, 0.25, NULL);
	fixture_run_open(store, "north", NULL);
	assert_int_equal(store_run_load(store, 2, &second), STORE_OK);
	int64_t then = second.start.started.ns;

	assert_list(store, &(struct run_filter){.limit = 0}, "1 2 3 4 ");
	assert_list(store, &(struct run_filter){.newest_first = true, .limit = 2}, "4 3 ");
	assert_list(store, &(struct run_filter){.press = "north"}, "1 3 4 ");
	assert_list(store, &(struct run_filter){.specimen = "A-2"}, "3 ");
	assert_list(store, &(struct run_filter){.set = "set-A"}, "1 3 ");
	assert_list(store, &(struct run_filter){.verdict = VERDICT_IN_BAND}, "1 3 ");
	assert_list(store, &(struct run_filter){.verdict = VERDICT_OUT_OF_BAND}, "2 ");
	assert_list(store, &(struct run_filter){.after_run = 2}, "3 4 ");
	assert_list(store, &(struct run_filter){.from = {then + 1}, .press = "north", .limit = 1},
		"3 ");
	assert_list(store, &(struct run_filter){.from = {then}, .before = {then + 1}}, "2 ");
	assert_list(store, &(struct run_filter){.press = "east"}, "");
	/* A corrected run is found by what it was and by what it is. */
	fixture_begin(store);
	assert_int_equal(
		store_run_assign(store, 2, "A-1", "mixed up", &fixture_actor, (struct utc_time){1}),
		STORE_OK);
	fixture_commit(store);
	assert_list(store, &(struct run_filter){.specimen = "A-1"}, "1 2 ");
	assert_list(store, &(struct run_filter){.specimen = "B-1"}, "2 ");
	assert_list(store, &(struct run_filter){.set = "set-A", .newest_first = true, .limit = 2},
		"3 2 ");
	assert_list(store, &(struct run_filter){.set = "set-B", .specimen = "A-1"}, "2 ");
	assert_int_equal(store_run_load(store, 2, &second), STORE_OK);
	assert_string_equal(second.row.specimen, "B-1");
	assert_string_equal(second.row.specimen_corrected, "A-1");
	assert_string_equal(second.row.set_corrected, "set-A");
	store_close(store);
}

static bool ignore_row(void *context, const struct run_row *row)
{
	(void)context;
	(void)row;
	return true;
}

/* What SQLite says it will do: SEARCH is an index, SCAN walks a whole table. */
static void check_plan(struct store *store, const char *sql)
{
	char *explain = sqlite3_mprintf("EXPLAIN QUERY PLAN %s", sql);
	sqlite3_stmt *plan;

	assert_int_equal(sqlite3_prepare_v2(store->db, explain, -1, &plan, NULL), SQLITE_OK);
	while (sqlite3_step(plan) == SQLITE_ROW) {
		const char *detail = (const char *)sqlite3_column_text(plan, 3);
		/* Along an index, in order, as far as the limit. */
		bool along = strstr(detail, "USING INDEX") || strcmp(detail, "SCAN run") == 0 ||
			     strstr(sql, "FROM sqlite_schema");
		if (strncmp(detail, "SCAN ", 5) == 0 && !along)
			fail_msg("%s: %s", detail, sql);
	}
	sqlite3_finalize(plan);
	sqlite3_free(explain);
}

static int check_counts(struct store *store, const char *part)
{
	int found = 0;

	for (size_t i = 0; i < store->cache_count; i++) {
		sqlite3_stmt *statement = store->cache[i].statement;
		const char *sql = sqlite3_sql(statement);
		if (!strstr(sql, part))
			continue;
		int scanned = sqlite3_stmt_status(statement, SQLITE_STMTSTATUS_FULLSCAN_STEP, 0);
		int sorted = sqlite3_stmt_status(statement, SQLITE_STMTSTATUS_SORT, 0);
		/* Of one specimen or one set there are few runs: they may be sorted. */
		bool few = strstr(sql, "run.run IN") != NULL;
		if (scanned > 6 || (sorted > 0 && !few))
			fail_msg("%d rows scanned, %d sorts: %s", scanned, sorted, sql);
		check_plan(store, sql);
		found++;
	}
	return found;
}

static bool ignore_reading(void *context, size_t cell, const struct reading *reading)
{
	(void)context;
	(void)cell;
	(void)reading;
	return true;
}

/* With a million runs a scan or a sort is what makes a list slow; SQLite counts both, and says
 * beforehand what it will do. */
static void test_lists_are_answered_by_indexes(void **state)
{
	const struct run_filter filters[] = {
		{.newest_first = true, .limit = 1},
		{.press = "north", .newest_first = true},
		{.specimen = "A-1"},
		{.set = "set-A", .newest_first = true, .limit = 5},
		{.set = "set-A", .press = "north", .verdict = VERDICT_IN_BAND},
		{.verdict = VERDICT_IN_BAND, .newest_first = true},
		{.after_run = 15, .limit = 5},
		{.sort = SORT_STARTED, .newest_first = true, .limit = 5},
		{.sort = SORT_STARTED, .from = {1}, .before = {2}},
		{.sort = SORT_MAXIMUM, .newest_first = true, .limit = 5},
		{.sort = SORT_STRENGTH, .newest_first = true, .limit = 5},
	};
	struct store *store = fixture_open(*state, STORE_WRITE);
	struct run_record record;

	fixture_run(store, "north", "A-1", 1, 0.5, NULL);
	for (int i = 0; i < 20; i++)
		fixture_run_open(store, "south", NULL);
	store_close(store);
	store = fixture_open(*state, STORE_READ);
	for (size_t i = 0; i < sizeof(filters) / sizeof(filters[0]); i++)
		assert_int_equal(store_runs_each(store, &filters[i], ignore_row, NULL), STORE_OK);
	assert_int_equal(check_counts(store, " LIMIT ?"), sizeof(filters) / sizeof(filters[0]));
	assert_int_equal(store_run_load(store, 1, &record), STORE_OK);
	assert_int_equal(store_readings_each(store, 1, ignore_reading, NULL), STORE_OK);
	assert_true(check_counts(store, "") > 20);
	store_close(store);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		FIXTURE_TEST(test_rates),
		FIXTURE_TEST(test_lists),
		FIXTURE_TEST(test_lists_are_answered_by_indexes),
	};

	return cmocka_run_group_tests_name("query", tests, NULL, NULL);
}
