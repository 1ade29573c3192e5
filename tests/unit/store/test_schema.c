/* SPDX-License-Identifier: MIT
 *
 * What the tables allow to any program: rows are only added, and the summary is plain SQL.
 */
#include "unit/check.h"
#include "unit/store/fixture.h"

#include "store/schema.h"

#include <sqlite3.h>
#include <stdio.h>
#include <string.h>

static void refused(sqlite3 *db, const char *format, const char *table)
{
	char statement[400];
	char *error = NULL;

	snprintf(statement, sizeof(statement), format, table);
	if (sqlite3_exec(db, statement, NULL, NULL, &error) != SQLITE_CONSTRAINT)
		fail_msg("%s: not refused", statement);
	assert_non_null(strstr(error, table));
	sqlite3_free(error);
}

static int64_t count_rows(sqlite3 *db, const char *table)
{
	sqlite3_stmt *rows;
	char text[100];

	snprintf(text, sizeof(text), "SELECT count(*) FROM %s", table);
	assert_int_equal(sqlite3_prepare_v2(db, text, -1, &rows, NULL), SQLITE_OK);
	assert_int_equal(sqlite3_step(rows), SQLITE_ROW);
	int64_t count = sqlite3_column_int64(rows, 0);
	sqlite3_finalize(rows);
	return count;
}

static void test_rows_are_only_added(void **state)
{
	static const char *const tables[] = {"specimen", "seat", "policy", "policy_value", "run",
		"run_specimen", "run_cell", "chunk", "run_outcome", "run_rate", "run_event", "seal",
		"fracture", "verification", "verification_force", "upkeep", "zero", "run_press",
		"run_place", "run_thrust", "specimen_correction", "run_correction",
		"corrected_specimen", "corrected_outcome", "corrected_rate", "signing_key", "loss",
		"method_text", "run_method", "method_confirmation", "specimen_detail",
		"specimen_measure", "set_terms", "report", "report_run"};
	char text[100];

	struct store *store = fixture_open(*state, STORE_WRITE);
	fixture_run(store, "north", "A-1", 2, 0.6, NULL);
	fixture_rows(store, 1, "A-1");
	store_close(store);
	sqlite3 *db = fixture_connect(*state);
	/* None is forgotten here. */
	assert_int_equal(count_rows(db, "sqlite_schema WHERE type = 'table'"),
		sizeof(tables) / sizeof(tables[0]));
	for (size_t i = 0; i < sizeof(tables) / sizeof(tables[0]); i++) {
		if (count_rows(db, tables[i]) == 0)
			fail_msg("%s is empty, nothing was tried", tables[i]);
		refused(db, "DELETE FROM %s", tables[i]);
		snprintf(text, sizeof(text), "REPLACE INTO %s SELECT * FROM %%s", tables[i]);
		refused(db, text, tables[i]);
	}
	refused(db, "UPDATE %s SET length_um = length_um", "specimen");
	refused(db, "UPDATE %s SET strength_pa = 1", "run_outcome");
	refused(db, "UPDATE OR REPLACE %s SET verdict = 'in_band'", "run_rate");
	refused(db, "UPDATE %s SET readings = x'00'", "chunk");
	refused(db, "UPDATE %s SET hash = hash", "seal");
	assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

static void test_summary_is_plain_sql(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	sqlite3_stmt *rows;

	fixture_run(store, "north", "A-1", 1, 0.25, NULL);
	fixture_run_open(store, "north", NULL);
	store_close(store);
	sqlite3 *db = fixture_connect(*state);
	assert_int_equal(sqlite3_prepare_v2(db,
				 "SELECT press, specimen, started, ending, verdict, fracture,"
				 " abs(maximum_n - 23600) < 100, abs(strength_mpa - 3) < 0.1"
				 " FROM run_summary ORDER BY run",
				 -1, &rows, NULL),
		SQLITE_OK);
	assert_int_equal(sqlite3_step(rows), SQLITE_ROW);
	assert_string_equal(sqlite3_column_text(rows, 0), "north");
	assert_string_equal(sqlite3_column_text(rows, 1), "A-1");
	assert_string_equal(sqlite3_column_text(rows, 2), "2026-02-25T06:14:20.000Z");
	assert_string_equal(sqlite3_column_text(rows, 3), "broken");
	assert_string_equal(sqlite3_column_text(rows, 4), "in_band");
	assert_int_equal(sqlite3_column_type(rows, 5), SQLITE_NULL);
	assert_int_equal(sqlite3_column_int(rows, 6), 1);
	assert_int_equal(sqlite3_column_int(rows, 7), 1);
	assert_int_equal(sqlite3_step(rows), SQLITE_ROW);
	assert_int_equal(sqlite3_column_type(rows, 3), SQLITE_NULL);
	assert_int_equal(sqlite3_step(rows), SQLITE_DONE);
	sqlite3_finalize(rows);
	assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

/* The audit goes by it, and compares with tables made anew only where it is another. */
static void test_a_new_file_is_as_made(void **state)
{
	char digest[SCHEMA_DIGEST_SIZE];
	bool as_made = false;

	struct store *store = fixture_open(*state, STORE_WRITE);
	assert_int_equal(schema_digest(store, digest), STORE_OK);
	assert_int_equal(schema_is_as_made(store, &as_made), STORE_OK);
	if (!as_made)
		fail_msg("what the steps make has another digest: put %s into schema.c", digest);
	fixture_run(store, "north", "A-1", 2, 0.6, NULL);
	assert_int_equal(sql_run(store, "ANALYZE"), STORE_OK);
	assert_int_equal(schema_is_as_made(store, &as_made), STORE_OK);
	assert_true(as_made);
	assert_int_equal(sql_run(store, "DROP TRIGGER run_no_delete"), STORE_OK);
	assert_int_equal(schema_is_as_made(store, &as_made), STORE_OK);
	assert_false(as_made);
	store_close(store);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		FIXTURE_TEST(test_rows_are_only_added),
		FIXTURE_TEST(test_summary_is_plain_sql),
		FIXTURE_TEST(test_a_new_file_is_as_made),
	};

	return cmocka_run_group_tests_name("schema", tests, NULL, NULL);
}
