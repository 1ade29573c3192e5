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

	fixture_begin(store);
	struct detail detail;
	detail_init(&detail);
	detail.mass_mg = 3700000;
	detail.width_count = 1;
	detail.widths_um[0] = 100000;
	assert_int_equal(store_detail_add(store, "A-1", &detail, "", &fixture_actor,
				 (struct utc_time){INT64_C(1772000080) * CLOCKS_NS_PER_S}),
		STORE_OK);
	const struct set_terms terms = {"pier-7d", "pier", ACCEPTANCE_ACI_318, 3e6, 0, true};
	assert_int_equal(store_terms_add(store, &terms, &fixture_actor,
				 (struct utc_time){INT64_C(1772000080) * CLOCKS_NS_PER_S}),
		STORE_OK);
	assert_int_equal(
		store_method_confirm(store, method_find("astm-c39"), "2021", "", &fixture_actor,
			(struct utc_time){INT64_C(1772000080) * CLOCKS_NS_PER_S}),
		STORE_OK);
	assert_int_equal(store_fracture_add(store, 1, 3, "", &fixture_actor,
				 (struct utc_time){INT64_C(1772000090) * CLOCKS_NS_PER_S}),
		STORE_OK);
	assert_int_equal(store_fracture_add(store, 1, 2, "seen again in daylight", &iben,
				 (struct utc_time){INT64_C(1772003600) * CLOCKS_NS_PER_S}),
		STORE_OK);
	fixture_commit(store);
}

static void correct(struct store *store)
{
	const struct utc_time now = {INT64_C(1772007200) * CLOCKS_NS_PER_S};
	const struct loss loss = {"south", {INT64_C(1772000300) * CLOCKS_NS_PER_S},
		{INT64_C(1772000310) * CLOCKS_NS_PER_S}, 120, 1, "the disk was full"};
	struct specimen specimen;

	fixture_specimen(&specimen, "B-1");
	specimen.width_um[1] = 101000;
	fixture_begin(store);
	assert_int_equal(
		store_specimen_correct(store, &specimen, "measured again", &fixture_actor, now),
		STORE_OK);
	assert_int_equal(
		store_run_assign(store, 3, "A-1", "was not seated", &fixture_actor, now), STORE_OK);
	assert_int_equal(
		store_run_void(store, 3, true, "broken twice", &fixture_actor, now), STORE_OK);
	assert_int_equal(store_loss_add(store, &loss), STORE_OK);
	fixture_report(store, 1, 0);
	fixture_report(store, 1, 1);
	fixture_commit(store);
}

static void enter_press(struct store *store)
{
	const struct utc_time now = {INT64_C(1771900000) * CLOCKS_NS_PER_S};
	struct verification verification = {.press = "north",
		.verified = now,
		.reference = "load ring 4",
		.certificate = "2026-17",
		.force_count = 1};
	const struct zero_entry zero = {"north", "cell-1", {UNIT_KILONEWTON, {1, 0}, 5}, 0};

	fixture_begin(store);
	assert_int_equal(
		store_verification_add(store, &verification, &fixture_actor, now), STORE_OK);
	assert_int_equal(store_upkeep_add(store, "north", UPKEEP_SOCKET_CARE, "oiled", now,
				 &fixture_actor, now),
		STORE_OK);
	assert_int_equal(store_zero_add(store, &zero, "unloaded", &fixture_actor, now), STORE_OK);
	fixture_commit(store);
}

static void fill(const char *path)
{
	struct store *store = fixture_open(path, STORE_WRITE);
	sqlite3 *db;

	enter_press(store);
	fixture_run(store, "north", "A-1", 1, 0.25, NULL);
	fixture_run(store, "south", "B-1", 2, 0.6, NULL);
	fixture_run(store, "north", NULL, 1, 0.25, NULL);
	fixture_run_unclosed(store, "south");
	enter_fractures(store);
	correct(store);
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
