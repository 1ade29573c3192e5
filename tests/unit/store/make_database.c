/* SPDX-License-Identifier: MIT
 *
 * Writes a database of today's version with something in every table, to be kept in databases/ when
 * a version is released: `make-database databases/version-N.db`. It is run by hand, once a version;
 * test_migrate.c opens what it made for ever after.
 */
#include "unit/check.h"
#include "unit/store/fixture.h"

#include <sqlite3.h>
#include <stdio.h>

static void enter_fractures(struct store *store)
{
	const struct actor iben = {1001, "iben"};

	assert_int_equal(store_begin(store), STORE_OK);
	assert_int_equal(store_fracture_add(store, 1, 3, "", &fixture_actor,
				 (struct utc_time){INT64_C(1772000090) * CLOCKS_NS_PER_S}),
		STORE_OK);
	assert_int_equal(store_fracture_add(store, 1, 2, "seen again in daylight", &iben,
				 (struct utc_time){INT64_C(1772003600) * CLOCKS_NS_PER_S}),
		STORE_OK);
	assert_int_equal(store_commit(store), STORE_OK);
}

static void fill(const char *path)
{
	struct store *store = fixture_open(path, STORE_WRITE);
	sqlite3 *db;

	fixture_run(store, "north", "A-1", 1, 0.25, NULL);
	fixture_run(store, "south", "B-1", 2, 0.6, NULL);
	fixture_run(store, "north", NULL, 1, 0.25, NULL);
	fixture_run_unclosed(store, "south");
	enter_fractures(store);
	store_close(store);
	/* A file for an archive: without a log beside it, and small. */
	assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
	assert_int_equal(sqlite3_exec(db, "PRAGMA journal_mode = DELETE; VACUUM", NULL, NULL, NULL),
		SQLITE_OK);
	assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

int main(int argc, char **argv)
{
	if (argc != 2) {
		fputs("usage: make-database FILE\n", stderr);
		return 2;
	}
	fill(argv[1]);
	return 0;
}
