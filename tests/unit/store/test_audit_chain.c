/* SPDX-License-Identifier: MIT
 *
 * The chain of seals: rows moved and added, readings changed with their check, a run sealed again,
 * a chain forged with and without the key.
 */
#include "store/audit.h"
#include "store/seal.h"
#include "unit/check.h"
#include "unit/store/fixture.h"
#include "unit/store/forge.h"

#include <sodium.h>
#include <sqlite3.h>
#include <stdio.h>
#include <string.h>

static void test_rows_moved(void **state)
{
	static struct forge_findings findings;

	forge_tamper(*state,
		"UPDATE run_outcome SET run = 99 WHERE run = 1;"
		"UPDATE run_outcome SET run = 1 WHERE run = 2;"
		"UPDATE run_outcome SET run = 2 WHERE run = 99",
		&findings);
	forge_assert_names(&findings, 1, "run_outcome");
	forge_assert_names(&findings, 2, "run_outcome");
	forge_assert_names(&findings, 2, "maximum_mono_ns");

	forge_tamper(*state,
		"UPDATE chunk SET seq = 999 WHERE run = 1 AND seq = 3;"
		"UPDATE chunk SET seq = 3 WHERE run = 1 AND seq = 4;"
		"UPDATE chunk SET seq = 4 WHERE run = 1 AND seq = 999",
		&findings);
	forge_assert_names(&findings, 1, "chunk");

	forge_tamper(*state,
		"INSERT INTO chunk (run, seq, cell, reading_count, readings)"
		" SELECT run, seq + 1, cell, reading_count, readings FROM chunk WHERE run = 1"
		" ORDER BY seq DESC LIMIT 1",
		&findings);
	forge_assert_names(&findings, 1, "chunk");
	forge_assert_names(&findings, 1, "reading_count");
}

/* Readings changed where it makes no difference, the chunk's own check made to fit: only the seal
 * can tell. */
static void test_readings_forged_with_their_check(void **state)
{
	static struct forge_findings findings;
	static struct reading readings[CHUNK_READINGS_MAX];
	unsigned char bytes[CHUNK_SIZE_MAX];
	struct audit_summary summary;
	sqlite3_stmt *statement;
	size_t count, size;

	sqlite3 *db = forge_break_in(*state);
	sqlite3_prepare_v2(
		db, "SELECT readings FROM chunk WHERE run = 1 AND seq = 7", -1, &statement, NULL);
	assert_int_equal(sqlite3_step(statement), SQLITE_ROW);
	size = (size_t)sqlite3_column_bytes(statement, 0);
	assert_int_equal(
		chunk_decode(sqlite3_column_blob(statement, 0), size, readings, &count), CHUNK_OK);
	sqlite3_finalize(statement);
	readings[3].status ^= READING_MOTION;
	assert_int_equal(chunk_encode(readings, count, bytes, &size), count);
	sqlite3_prepare_v2(db, "UPDATE chunk SET readings = ? WHERE run = 1 AND seq = 7", -1,
		&statement, NULL);
	sqlite3_bind_blob(statement, 1, bytes, (int)size, SQLITE_STATIC);
	assert_int_equal(sqlite3_step(statement), SQLITE_DONE);
	sqlite3_finalize(statement);
	forge_leave(db);
	forge_audit(*state, &findings, &summary);
	assert_int_equal(findings.count, 1);
	assert_int_equal(findings.list[0].kind, AUDIT_SEAL);
	forge_assert_names(&findings, 1, "chunk");
}

static void put_seal(sqlite3 *db, const struct seal *seal)
{
	sqlite3_stmt *update;

	assert_int_equal(sqlite3_prepare_v2(db,
				 "UPDATE seal SET previous = ?, parts = ?, hash = ?, signature = ?"
				 " WHERE seal = ?",
				 -1, &update, NULL),
		SQLITE_OK);
	sqlite3_bind_blob(update, 1, seal->previous, sizeof(seal->previous), SQLITE_STATIC);
	sqlite3_bind_blob(
		update, 2, seal->parts, (int)(seal->part_count * STORE_SEAL_SIZE), SQLITE_STATIC);
	sqlite3_bind_blob(update, 3, seal->hash, sizeof(seal->hash), SQLITE_STATIC);
	sqlite3_bind_blob(update, 4, seal->signature, sizeof(seal->signature), SQLITE_STATIC);
	sqlite3_bind_int64(update, 5, seal->number);
	assert_int_equal(sqlite3_step(update), SQLITE_DONE);
	assert_int_equal(sqlite3_changes(db), 1);
	sqlite3_finalize(update);
}

static void change_and_seal_again(const char *path, struct seal *seal)
{
	sqlite3 *db = forge_break_in(path);

	forge_sql(db, "UPDATE run SET program = 'ramplogd 9.9.9' WHERE run = 2");
	forge_leave(db);
	struct store *store = fixture_open(path, STORE_READ);
	assert_int_equal(seal_find(store, SEAL_RUN, 2, seal), STORE_OK);
	assert_int_equal(seal_parts(store, seal), STORE_OK);
	seal_hash(seal, seal->hash);
	store_close(store);
}

/* Who changes a run and seals it again has broken the link of the next seal. */
static void test_a_run_sealed_again(void **state)
{
	static struct forge_findings findings;
	struct audit_summary summary;
	struct seal seal;

	change_and_seal_again(*state, &seal);
	sqlite3 *db = forge_break_in(*state);
	put_seal(db, &seal);
	forge_leave(db);
	forge_audit(*state, &findings, &summary);
	assert_int_equal(findings.count, 2);
	forge_assert_names(&findings, 2, "seal.signature");
	assert_string_equal(findings.list[1].field, "seal.previous");
	assert_int_equal(findings.list[1].kind, AUDIT_SEAL);
}

/* And who goes on to the end of the chain lacks the key: each seal is named. */
static void test_the_chain_hashed_again_without_the_key(void **state)
{
	static struct forge_findings findings;
	unsigned char public_key[crypto_sign_PUBLICKEYBYTES], secret[crypto_sign_SECRETKEYBYTES];
	struct audit_summary summary;
	struct seal seal, next;
	size_t count = 0;

	crypto_sign_keypair(public_key, secret);
	change_and_seal_again(*state, &seal);
	for (;; count++) {
		crypto_sign_detached(seal.signature, NULL, seal.hash, sizeof(seal.hash), secret);
		sqlite3 *db = forge_break_in(*state);
		put_seal(db, &seal);
		forge_leave(db);
		struct store *store = fixture_open(*state, STORE_READ);
		enum store_status status = seal_at(store, seal.number + 1, &next);
		store_close(store);
		if (status == STORE_NONE)
			break;
		memcpy(next.previous, seal.hash, sizeof(next.previous));
		seal_hash(&next, next.hash);
		seal = next;
	}
	forge_audit(*state, &findings, &summary);
	assert_int_equal(findings.count, count + 1);
	for (size_t i = 0; i < findings.count; i++)
		assert_string_equal(findings.list[i].field, "seal.signature");
	forge_assert_names(&findings, 2, "seal.signature");
	forge_assert_names(&findings, 3, "seal.signature");
}

/* A thief with the key can do all of it; an anchor that was kept elsewhere still tells. */
static void test_an_anchor_tells_what_the_key_cannot(void **state)
{
	static struct forge_findings findings;
	struct audit_hooks hooks = {forge_keep, NULL, &findings};
	struct audit_summary summary = {.run_count = 0};
	struct audit_anchor anchor, read;
	char text[AUDIT_ANCHOR_SIZE], spaced[AUDIT_ANCHOR_SIZE * 2];
	int64_t run_count = 0;

	struct store *store = fixture_open(*state, STORE_READ);
	assert_int_equal(audit_anchor_newest(store, &anchor, &run_count), STORE_OK);
	assert_int_equal(run_count, 3);
	audit_anchor_text(&anchor, text);
	snprintf(spaced, sizeof(spaced), "%.*s %.8s - %s\n", (int)(strchr(text, ':') + 1 - text),
		text, strchr(text, ':') + 1, strchr(text, ':') + 9);
	assert_true(audit_anchor_parse(spaced, &read));
	assert_memory_equal(&read, &anchor, sizeof(anchor));
	assert_false(audit_anchor_parse("12", &read));
	assert_false(audit_anchor_parse("12:zz", &read));
	text[strlen(text) - 1] = '\0';
	assert_false(audit_anchor_parse(text, &read));
	memset(&findings, 0, sizeof(findings));
	assert_int_equal(audit_anchor_check(store, &anchor, &hooks, &summary), STORE_OK);
	assert_int_equal(findings.count, 0);
	anchor.seal--;
	assert_int_equal(audit_anchor_check(store, &anchor, &hooks, &summary), STORE_OK);
	assert_int_equal(findings.count, 1);
	assert_string_equal(findings.list[0].field, "anchor");
	anchor.seal += 2;
	assert_int_equal(audit_anchor_check(store, &anchor, &hooks, &summary), STORE_OK);
	assert_int_equal(findings.list[1].kind, AUDIT_MISSING);
	assert_int_equal(summary.difference_count, 2);
	store_close(store);
}

/* Nobody may take a trigger away, add a row that no seal covers, or a table. */
static void test_the_file_as_a_whole(void **state)
{
	static const struct {
		const char *text, *field;
	} changes[] = {
		{"DROP TRIGGER run_outcome_no_update", "trigger run_outcome_no_update"},
		{"CREATE TABLE notes (x)", "table notes"},
		{"INSERT INTO seat VALUES (90, 'north', 'A-1', 1, 1, 'nobody')", "seat 90"},
		{"INSERT INTO policy VALUES (9, 1)", "policy 9"},
		{"INSERT INTO run_specimen SELECT 77, specimen, set_name, shape, width_1_um,"
		 " width_2_um, length_um, cast_utc_ns, anticipated_pa, method, chosen_rate_pa_s"
		 " FROM run_specimen WHERE run = 1",
			"run_specimen"},
		{"INSERT INTO chunk VALUES (9000, 99, 0, 0, 1, x'00')", "chunk"},
	};
	static struct forge_findings findings;
	struct audit_summary summary;
	char copy[FORGE_PATH_SIZE];

	for (size_t i = 0; i < sizeof(changes) / sizeof(changes[0]); i++) {
		sqlite3 *db;
		forge_copy(*state, copy);
		assert_int_equal(sqlite3_open(copy, &db), SQLITE_OK);
		forge_sql(db, changes[i].text);
		assert_int_equal(sqlite3_close(db), SQLITE_OK);
		forge_audit(copy, &findings, &summary);
		forge_assert_names(&findings, 0, changes[i].field);
	}
}

/* A list that is cut says so: a hundred rows that no seal covers are not fifty. */
static void test_a_long_list_says_that_it_is_cut(void **state)
{
	static struct forge_findings findings;

	forge_tamper(*state,
		"WITH RECURSIVE n(i) AS (SELECT 900 UNION ALL SELECT i + 1 FROM n WHERE i < 999)"
		" INSERT INTO seat SELECT i, 'north', 'A-1', 1, 1, 'nobody' FROM n",
		&findings);
	assert_int_equal(findings.count, 51);
	assert_string_equal(findings.list[49].field, "seat 949");
	assert_string_equal(findings.list[50].field, "more of them");
}

static bool stop_at_once(void *context, size_t done, size_t total)
{
	(void)context;
	(void)done;
	(void)total;
	return false;
}

/* Tables that never end, as pages in a circle or a view in a table's place make them. */
static void test_what_never_ends_can_be_stopped(void **state)
{
	static struct forge_findings findings;
	struct audit_hooks hooks = {forge_keep, stop_at_once, &findings};
	struct audit_summary summary = {.run_count = 0};
	struct audit_extent extent;
	char copy[FORGE_PATH_SIZE];
	sqlite3 *db;

	forge_copy(*state, copy);
	assert_int_equal(sqlite3_open(copy, &db), SQLITE_OK);
	forge_sql(db, "PRAGMA legacy_alter_table = ON; ALTER TABLE chunk RENAME TO kept;"
		      "CREATE VIEW chunk AS WITH RECURSIVE n(i) AS (SELECT 0 UNION ALL SELECT 1 - "
		      "i FROM n)"
		      " SELECT kept.* FROM n JOIN kept WHERE n.i > 1");
	assert_int_equal(sqlite3_close(db), SQLITE_OK);
	struct store *store = fixture_open(copy, STORE_READ);
	assert_int_equal(audit_begin(store, &extent), STORE_OK);
	assert_int_equal(audit_some_runs(store, &extent, 1, 3, &hooks, &summary), STORE_OK);
	assert_true(summary.stopped);
	assert_int_equal(summary.sample_count, 0);
	summary.stopped = false;
	assert_int_equal(audit_every_seal(store, &extent, &hooks, &summary), STORE_OK);
	assert_true(summary.stopped);
	store_close(store);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		FORGE_TEST(test_rows_moved),
		FORGE_TEST(test_readings_forged_with_their_check),
		FORGE_TEST(test_a_run_sealed_again),
		FORGE_TEST(test_the_chain_hashed_again_without_the_key),
		FORGE_TEST(test_an_anchor_tells_what_the_key_cannot),
		FORGE_TEST(test_the_file_as_a_whole),
		FORGE_TEST(test_a_long_list_says_that_it_is_cut),
		FORGE_TEST(test_what_never_ends_can_be_stopped),
	};

	return cmocka_run_group_tests_name(
		"audit chain", tests, forge_write_master, fixture_teardown);
}
