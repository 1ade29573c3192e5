/* SPDX-License-Identifier: MIT
 *
 * Databases that older programs wrote, one of each version (databases/version-N.db, written once by
 * make_database.c and never again): they can be read without being touched, brought up to date
 * without losing a value, audited, and written on. The folder is the first argument.
 */
#include "store/audit.h"
#include "store/schema.h"
#include "unit/check.h"
#include "unit/store/fixture.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { OLDEST = 1, NEWEST = SCHEMA_VERSION, FILE_SIZE_MAX = 1 << 21 };

static const char *folder;

static size_t read_file(const char *path, char *bytes)
{
	FILE *file = fopen(path, "rb");

	if (!file)
		fail_msg("%s is missing", path);
	size_t size = fread(bytes, 1, FILE_SIZE_MAX, file);
	assert_true(size > 0 && size < FILE_SIZE_MAX);
	assert_int_equal(fclose(file), 0);
	return size;
}

/* The stored database, as bytes; a copy of it at path. */
static size_t copy_of(int version, const char *path, char *bytes)
{
	char from[300];

	snprintf(from, sizeof(from), "%s/version-%d.db", folder, version);
	size_t size = read_file(from, bytes);
	FILE *file = fopen(path, "wb");
	assert_non_null(file);
	assert_int_equal(fwrite(bytes, 1, size, file), size);
	assert_int_equal(fclose(file), 0);
	return size;
}

static void nothing_but_unclosed(void *context, const struct audit_finding *finding)
{
	(void)context;
	if (finding->kind != AUDIT_UNCLOSED)
		fail_msg("run %d, %s: stored %s, derived %s", (int)finding->run, finding->field,
			finding->stored, finding->derived);
}

static void assert_runs(struct store *store, size_t closed, size_t unclosed)
{
	struct audit_summary summary;

	assert_int_equal(
		audit_runs(store, NULL, 0, nothing_but_unclosed, NULL, NULL, &summary), STORE_OK);
	assert_int_equal(summary.run_count, closed);
	assert_int_equal(summary.unclosed_count, unclosed);
}

static bool count_entry(void *context, const struct fracture_row *row)
{
	size_t *count = context;

	assert_int_equal(row->type, *count == 0 ? 3 : 2);
	++*count;
	return true;
}

static void test_read_without_touching(void **state)
{
	static char before[FILE_SIZE_MAX], after[FILE_SIZE_MAX];

	for (int version = OLDEST; version <= NEWEST; version++) {
		size_t size = copy_of(version, *state, before), entries = 0;
		struct store *store = fixture_open(*state, STORE_READ);

		assert_runs(store, 3, 1);
		assert_int_equal(store_fractures_each(store, 1, count_entry, &entries), STORE_OK);
		assert_int_equal(entries, 2);
		store_close(store);
		assert_int_equal(read_file(*state, after), size);
		assert_memory_equal(before, after, size);
	}
}

/* Every row of every table of the old file is in the new one, each column as it was. */
static void assert_rows_kept(const char *old, const char *new)
{
	sqlite3_stmt *tables;
	sqlite3 *db;
	char text[3000];
	size_t count = 0;

	assert_int_equal(sqlite3_open(new, &db), SQLITE_OK);
	snprintf(text, sizeof(text), "ATTACH '%s' AS old", old);
	assert_int_equal(sqlite3_exec(db, text, NULL, NULL, NULL), SQLITE_OK);
	assert_int_equal(sqlite3_prepare_v2(db,
				 "SELECT t.name, group_concat(quote(c.name)) FROM old.sqlite_schema"
				 " AS t, pragma_table_info(t.name, 'old') AS c"
				 " WHERE t.type = 'table' GROUP BY t.name",
				 -1, &tables, NULL),
		SQLITE_OK);
	for (; sqlite3_step(tables) == SQLITE_ROW; count++) {
		const char *name = (const char *)sqlite3_column_text(tables, 0);
		sqlite3_stmt *lost;
		char *list = sqlite3_mprintf("%s", sqlite3_column_text(tables, 1));
		for (char *quote = list; (quote = strchr(quote, '\''));)
			*quote = '"';
		snprintf(text, sizeof(text),
			"SELECT count(*) FROM (SELECT %s FROM old.%s EXCEPT SELECT %s FROM "
			"main.%s)",
			list, name, list, name);
		sqlite3_free(list);
		assert_int_equal(sqlite3_prepare_v2(db, text, -1, &lost, NULL), SQLITE_OK);
		assert_int_equal(sqlite3_step(lost), SQLITE_ROW);
		if (sqlite3_column_int64(lost, 0) != 0)
			fail_msg("%s: rows were lost or changed", name);
		sqlite3_finalize(lost);
	}
	sqlite3_finalize(tables);
	assert_int_equal(sqlite3_close(db), SQLITE_OK);
	assert_true(count >= 13);
}

static void test_brought_up_to_date(void **state)
{
	static char bytes[FILE_SIZE_MAX];
	char old[300];

	for (int version = OLDEST; version <= NEWEST; version++) {
		snprintf(old, sizeof(old), "%s/version-%d.db", folder, version);
		copy_of(version, *state, bytes);
		struct store *store = fixture_open(*state, STORE_WRITE);
		assert_runs(store, 3, 1);
		store_close(store);
		assert_rows_kept(old, *state);

		store = fixture_open(*state, STORE_WRITE);
		assert_int_equal(fixture_run(store, "north", "C-1", 2, 0.25, NULL), 5);
		assert_runs(store, 4, 1);
		store_close(store);
		assert_int_equal(remove(*state), 0);
	}
}

/* A step that cannot be done leaves the file as it was. */
static void test_a_step_that_fails_changes_nothing(void **state)
{
	static char bytes[FILE_SIZE_MAX];
	struct message why;
	struct store *store;
	sqlite3 *db;

	copy_of(OLDEST, *state, bytes);
	assert_int_equal(sqlite3_open(*state, &db), SQLITE_OK);
	/* In the way of a table of the next step. */
	assert_int_equal(sqlite3_exec(db, "CREATE TABLE upkeep (x)", NULL, NULL, NULL), SQLITE_OK);
	assert_int_equal(sqlite3_close(db), SQLITE_OK);
	assert_int_not_equal(store_open(&store, *state, STORE_WRITE, &why), STORE_OK);
	assert_int_equal(sqlite3_open(*state, &db), SQLITE_OK);
	assert_int_equal(sqlite3_exec(db,
				 "CREATE TABLE v (x CHECK (x = 1));"
				 "INSERT INTO v SELECT user_version FROM pragma_user_version;"
				 "DROP TABLE v; DROP TABLE upkeep",
				 NULL, NULL, NULL),
		SQLITE_OK);
	assert_int_equal(sqlite3_close(db), SQLITE_OK);
	store = fixture_open(*state, STORE_WRITE);
	assert_runs(store, 3, 1);
	store_close(store);
}

int main(int argc, char **argv)
{
	const struct CMUnitTest tests[] = {
		FIXTURE_TEST(test_read_without_touching),
		FIXTURE_TEST(test_brought_up_to_date),
		FIXTURE_TEST(test_a_step_that_fails_changes_nothing),
	};

	folder = argc > 1 ? argv[1] : "databases";
	return cmocka_run_group_tests_name("migrate", tests, NULL, NULL);
}
