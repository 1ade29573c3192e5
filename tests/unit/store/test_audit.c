/* SPDX-License-Identifier: MIT
 *
 * Replay gives what was judged live, and the audit finds whatever is changed behind its back: every
 * column of every sealed table, rows taken away, swapped and added, a chain forged.
 */
#include "store/audit.h"
#include "store/replay.h"
#include "store/seal.h"
#include "unit/check.h"
#include "unit/store/fixture.h"

#include <sodium.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FINDINGS_MAX = 400 };

struct findings {
	size_t count;
	struct audit_finding list[FINDINGS_MAX];
	size_t done, stop_at;
};

static bool keep_going(void *context, size_t done, size_t total)
{
	struct findings *findings = context;

	if (total == 0) /* the file as a whole */
		return true;
	assert_true(done <= total);
	findings->done = done;
	return done != findings->stop_at;
}

static void keep(void *context, const struct audit_finding *finding)
{
	struct findings *findings = context;

	assert_true(findings->count < FINDINGS_MAX);
	findings->list[findings->count++] = *finding;
}

static void audit(const char *path, struct findings *findings, struct audit_summary *summary)
{
	struct store *store = fixture_open(path, STORE_READ);

	memset(findings, 0, sizeof(*findings));
	enum store_status status = audit_runs(store, NULL, 0, keep, keep_going, findings, summary);
	if (status != STORE_OK)
		fail_msg("%s", store_error(store));
	store_close(store);
}

static void print_findings(const struct findings *findings)
{
	for (size_t i = 0; i < findings->count; i++)
		print_message("run %d %s: stored %s, derived %s\n", (int)findings->list[i].run,
			findings->list[i].field, findings->list[i].stored,
			findings->list[i].derived);
}

static bool names(const struct findings *findings, int64_t run, const char *field)
{
	for (size_t i = 0; i < findings->count; i++) {
		if (findings->list[i].run == run && strcmp(findings->list[i].field, field) == 0)
			return true;
	}
	return false;
}

static void assert_names(const struct findings *findings, int64_t run, const char *field)
{
	if (names(findings, run, field))
		return;
	print_findings(findings);
	fail_msg("run %d, field %s: not found", (int)run, field);
}

/* The triggers, while they are taken away. */
enum { TRIGGERS_MAX = 400 };
static char *triggers[TRIGGERS_MAX];
static size_t trigger_count;

static void run_sql(sqlite3 *db, const char *text)
{
	char *error = NULL;

	if (sqlite3_exec(db, text, NULL, NULL, &error) != SQLITE_OK)
		fail_msg("%s: %s", text, error);
}

/* Nothing that keeps a forger out: no triggers, no checks; and no waiting for the disk. */
static sqlite3 *break_in(const char *path)
{
	sqlite3 *db;
	sqlite3_stmt *found;
	char text[100];

	assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
	run_sql(db, "PRAGMA ignore_check_constraints = ON; PRAGMA synchronous = OFF; BEGIN");
	sqlite3_prepare_v2(
		db, "SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'", -1, &found, NULL);
	static char names[TRIGGERS_MAX][64];
	for (trigger_count = 0; sqlite3_step(found) == SQLITE_ROW; trigger_count++) {
		assert_true(trigger_count < TRIGGERS_MAX);
		snprintf(names[trigger_count], 64, "%s", sqlite3_column_text(found, 0));
		triggers[trigger_count] = sqlite3_mprintf("%s", sqlite3_column_text(found, 1));
	}
	sqlite3_finalize(found);
	for (size_t i = 0; i < trigger_count; i++) {
		snprintf(text, sizeof(text), "DROP TRIGGER %.63s", names[i]);
		run_sql(db, text);
	}
	return db;
}

/* And puts them back as they were: a forger would. */
static void leave(sqlite3 *db)
{
	for (size_t i = 0; i < trigger_count; i++) {
		run_sql(db, triggers[i]);
		sqlite3_free(triggers[i]);
	}
	run_sql(db, "COMMIT");
	assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

static void copy_file(const char *from, const char *to)
{
	static char bytes[1 << 20];
	FILE *source = fopen(from, "rb"), *target = fopen(to, "wb");

	assert_non_null(source);
	assert_non_null(target);
	size_t size = fread(bytes, 1, sizeof(bytes), source);
	assert_true(size > 0 && size < sizeof(bytes));
	assert_int_equal(fwrite(bytes, 1, size, target), size);
	assert_int_equal(fclose(source), 0);
	assert_int_equal(fclose(target), 0);
}

/* Three closed runs, written once; every test works on a copy. */
static char *master;

static int write_master(void **state)
{
	fixture_setup(state);
	master = *state;
	struct store *store = fixture_open(master, STORE_WRITE);
	fixture_run(store, "north", "A-1", 1, 0.25, NULL);
	fixture_run(store, "south", "B-1", 2, 0.6, NULL);
	fixture_run(store, "north", "A-2", 1, 0.25, NULL);
	fixture_rows(store, 2, "B-1");
	fixture_begin(store);
	assert_int_equal(store_run_void(store, 3, true, "dirt on the platen", &fixture_actor,
				 (struct utc_time){INT64_C(1772100000) * CLOCKS_NS_PER_S}),
		STORE_OK);
	fixture_commit(store);
	store_close(store);
	return 0;
}

static int fill(void **state)
{
	fixture_setup(state);
	copy_file(master, *state);
	return 0;
}

static void assert_intact(const char *path, size_t runs)
{
	static struct findings findings;
	struct audit_summary summary;

	audit(path, &findings, &summary);
	print_findings(&findings);
	assert_int_equal(findings.count, 0);
	assert_int_equal(summary.difference_count, 0);
	assert_int_equal(summary.run_count, runs);
	assert_true(summary.sample_count > runs * 500);
}

static void test_untouched_is_intact(void **state)
{
	assert_intact(*state, 3);
}

static void test_replay_gives_the_samples(void **state)
{
	struct store *store = fixture_open(*state, STORE_READ);
	struct run_record record;
	struct replay replay;

	assert_int_equal(store_run_load(store, 2, &record), STORE_OK);
	assert_int_equal(replay_run(store, &record, &replay), STORE_OK);
	assert_int_equal(replay.reading_count, record.row.reading_count);
	assert_true(replay.sample_count > 0 && replay.sample_count <= replay.reading_count / 2);
	int64_t maximum = 0;
	for (size_t i = 0; i < replay.sample_count; i++) {
		if (replay.samples[i].load_un > maximum)
			maximum = replay.samples[i].load_un;
	}
	assert_int_equal(maximum, record.outcome.judgement.maximum_un);
	replay_finish(&replay);
	record.start.method[0] = '?';
	record.start.judged_by = NULL;
	assert_int_equal(replay_run(store, &record, &replay), STORE_REFUSED);
	store_close(store);
}

static void test_an_unclosed_run_is_no_difference(void **state)
{
	static struct findings findings;
	struct audit_summary summary;
	struct store *store = fixture_open(*state, STORE_WRITE);
	int64_t run = fixture_run_unclosed(store, "north");

	store_close(store);
	audit(*state, &findings, &summary);
	assert_int_equal(findings.count, 1);
	assert_int_equal(findings.list[0].kind, AUDIT_UNCLOSED);
	assert_int_equal(findings.list[0].run, run);
	assert_int_equal(summary.difference_count, 0);
	assert_int_equal(summary.unclosed_count, 1);
	assert_int_equal(summary.run_count, 3);
}

static void test_named_runs_and_stopping(void **state)
{
	static struct findings findings;
	struct audit_summary summary;
	const int64_t runs[] = {3, 17};
	struct store *store = fixture_open(*state, STORE_READ);

	assert_int_equal(audit_runs(store, runs, 2, keep, NULL, &findings, &summary), STORE_OK);
	assert_int_equal(summary.run_count, 1);
	assert_int_equal(findings.count, 1);
	assert_int_equal(findings.list[0].kind, AUDIT_MISSING);
	assert_int_equal(findings.list[0].run, 17);
	findings.stop_at = 2;
	assert_int_equal(
		audit_runs(store, NULL, 0, keep, keep_going, &findings, &summary), STORE_OK);
	assert_int_equal(findings.done, 2);
	assert_int_equal(summary.run_count, 2);
	store_close(store);
}

static void tamper(const char *path, const char *text, struct findings *findings)
{
	struct audit_summary summary;
	sqlite3 *db = break_in(path);

	run_sql(db, text);
	leave(db);
	audit(path, findings, &summary);
	assert_int_equal(summary.difference_count, findings->count);
}

struct evidence {
	const char *table;
	const char *row;
	const char *place; /* NULL: run 2 is named */
};

static const struct evidence evidence[] = {
	{"specimen", "specimen = 'B-1'", NULL},
	{"seat", "seat = (SELECT seat FROM run WHERE run = 2)", NULL},
	{"policy", "1", NULL},
	{"policy_value", "name = (SELECT min(name) FROM policy_value)", NULL},
	{"run", "run = 2", NULL},
	{"run_specimen", "run = 2", NULL},
	{"run_cell", "run = 2 AND cell = 1", NULL},
	{"chunk", "run = 2 AND seq = 5", NULL},
	{"run_outcome", "run = 2", NULL},
	{"run_rate", "run = 2 AND other = 0", NULL},
	{"run_event", "run = 2 AND seq = 0", NULL},
	{"seal", "run = 2", NULL},
	{"fracture", "run = 2", "fracture 1"},
	{"specimen_correction", "1", "specimen_correction 1"},
	{"run_correction", "number = 1", "run_correction 1"},
	{"corrected_specimen", "1", "run_correction 1"},
	{"corrected_outcome", "1", "run_correction 1"},
	{"corrected_rate", "other = 0", "run_correction 1"},
	{"signing_key", "1", "signing_key 1"},
	{"loss", "1", "loss 1"},
	{"verification", "1", "verification 1"},
	{"verification_force", "1", "verification 1"},
	{"upkeep", "1", "upkeep 1"},
	{"zero", "1", "zero 1"},
	{"run_press", "run = 2", NULL},
	{"run_place", "run = 2 AND cell = 1", NULL},
	{"run_thrust", "run = 2", NULL},
	{"method_text", "method = 1", NULL},
	{"run_method", "run = 2", NULL},
	{"method_confirmation", "1", "method_confirmation 1"},
	{"specimen_detail", "1", "specimen_detail 1"},
	{"specimen_measure", "1", "specimen_detail 1"},
	{"set_terms", "1", "set_terms 1"},
	{"report", "report = 1", "report 1"},
	{"report_run", "1", "report 1"},
};

/* The smallest change a column allows: one more, the next double, another last byte. */
static void change_column(
	sqlite3 *db, const struct evidence *place, const char *column, const char *type)
{
	char text[400];

	if (strcmp(type, "INTEGER") == 0)
		snprintf(text, sizeof(text), "UPDATE %s SET %s = ifnull(%s, 0) + 1000 WHERE %s",
			place->table, column, column, place->row);
	else if (strcmp(type, "REAL") == 0)
		snprintf(text, sizeof(text),
			"UPDATE %s SET %s = CASE %s WHEN 0 THEN 5e-324 ELSE %s * (1 + 3e-16) END"
			" WHERE %s",
			place->table, column, column, column, place->row);
	else if (strcmp(type, "TEXT") == 0)
		snprintf(text, sizeof(text),
			"UPDATE %s SET %s = substr(%s, 1, length(%s) - 1) || 'z' WHERE %s",
			place->table, column, column, column, place->row);
	else
		snprintf(text, sizeof(text),
			"UPDATE %s SET %s = CAST(substr(%s, 1, length(%s) - 1) || x'5a' AS BLOB)"
			" WHERE %s",
			place->table, column, column, column, place->row);
	run_sql(db, text);
	if (sqlite3_changes(db) != 1)
		fail_msg("%s: changed %d rows", text, sqlite3_changes(db));
}

static size_t try_columns(const char *path, const struct evidence *place)
{
	static struct findings findings;
	struct audit_summary summary;
	sqlite3_stmt *columns;
	sqlite3 *source;
	char text[200], copy[300];
	size_t count = 0;

	snprintf(copy, sizeof(copy), "%s.changed", path);
	snprintf(
		text, sizeof(text), "SELECT name, type FROM pragma_table_info('%s')", place->table);
	assert_int_equal(sqlite3_open(path, &source), SQLITE_OK);
	assert_int_equal(sqlite3_prepare_v2(source, text, -1, &columns, NULL), SQLITE_OK);
	for (; sqlite3_step(columns) == SQLITE_ROW; count++) {
		const char *column = (const char *)sqlite3_column_text(columns, 0);
		copy_file(path, copy);
		sqlite3 *db = break_in(copy);
		change_column(db, place, column, (const char *)sqlite3_column_text(columns, 1));
		leave(db);
		audit(copy, &findings, &summary);
		bool named = false;
		for (size_t i = 0; i < findings.count; i++)
			named = named ||
				(place->place ? strncmp(findings.list[i].place, place->place,
							strlen(place->place)) == 0
					      : findings.list[i].run == 2);
		if (!named) {
			print_findings(&findings);
			fail_msg("%s.%s was changed unnoticed", place->table, column);
		}
	}
	sqlite3_finalize(columns);
	assert_int_equal(sqlite3_close(source), SQLITE_OK);
	return count;
}

static void test_every_column_is_watched(void **state)
{
	size_t count = 0;

	for (size_t i = 0; i < sizeof(evidence) / sizeof(evidence[0]); i++)
		count += try_columns(*state, &evidence[i]);
	print_message("%zu columns were changed, one at a time\n", count);
	sqlite3 *db;
	sqlite3_stmt *columns;
	assert_int_equal(sqlite3_open(*state, &db), SQLITE_OK);
	assert_int_equal(
		sqlite3_prepare_v2(db,
			"SELECT count(*) FROM sqlite_schema AS t, pragma_table_info(t.name)"
			" WHERE t.type = 'table'",
			-1, &columns, NULL),
		SQLITE_OK);
	assert_int_equal(sqlite3_step(columns), SQLITE_ROW);
	/* None is forgotten. */
	assert_int_equal(count, sqlite3_column_int64(columns, 0));
	sqlite3_finalize(columns);
	assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

static void test_the_field_is_named(void **state)
{
	static struct findings findings;
	char copy[300];

	snprintf(copy, sizeof(copy), "%s.changed", (const char *)*state);
	copy_file(*state, copy);
	tamper(copy, "UPDATE run_outcome SET strength_pa = strength_pa + 1 WHERE run = 2",
		&findings);
	assert_int_equal(findings.count, 2);
	assert_names(&findings, 2, "strength_pa");
	assert_names(&findings, 2, "run_outcome");

	copy_file(*state, copy);
	tamper(copy, "UPDATE run_rate SET verdict = 'in_band' WHERE run = 2 AND other = 0",
		&findings);
	assert_names(&findings, 2, "rate.verdict");
	assert_names(&findings, 2, "run_rate");

	copy_file(*state, copy);
	tamper(copy, "UPDATE run_event SET load_un = 1 WHERE run = 2 AND seq = 0", &findings);
	assert_names(&findings, 2, "event[0].load_un");

	copy_file(*state, copy);
	tamper(copy, "UPDATE run_cell SET factor_mantissa = 2 WHERE run = 3", &findings);
	assert_names(&findings, 3, "maximum_un");
	assert_names(&findings, 3, "run_cell");

	copy_file(*state, copy);
	tamper(copy, "UPDATE policy_value SET value = value * 2 WHERE name = 'decline_fraction'",
		&findings);
	assert_names(&findings, 1, "policy");
	assert_names(&findings, 3, "policy");
}

static void test_rows_taken_away(void **state)
{
	static struct findings findings;
	char copy[300], text[200];

	snprintf(copy, sizeof(copy), "%s.changed", (const char *)*state);
	for (size_t i = 0; i < sizeof(evidence) / sizeof(evidence[0]); i++) {
		copy_file(*state, copy);
		snprintf(text, sizeof(text), "DELETE FROM %s WHERE %s", evidence[i].table,
			evidence[i].row);
		tamper(copy, text, &findings);
		bool named = false;
		for (size_t j = 0; j < findings.count; j++)
			named = named ||
				(evidence[i].place
						? strncmp(findings.list[j].place, evidence[i].place,
							  strlen(evidence[i].place)) == 0
						: findings.list[j].run ==
							  (evidence[i].table[0] == 'p' ? 1 : 2));
		if (!named)
			fail_msg("%s: not noticed", text);
	}
	copy_file(*state, copy);
	tamper(copy, "DELETE FROM run WHERE run = 2", &findings);
	assert_int_equal(findings.list[0].kind, AUDIT_MISSING);
	assert_names(&findings, 2, "run");

	copy_file(*state, copy);
	tamper(copy,
		"DELETE FROM chunk WHERE run = 2 AND seq = (SELECT max(seq) FROM chunk WHERE run = "
		"2)",
		&findings);
	assert_names(&findings, 2, "reading_count");

	copy_file(*state, copy);
	tamper(copy, "DELETE FROM seal WHERE run = 3", &findings);
	assert_names(&findings, 3, "seal");
}

static void test_rows_moved(void **state)
{
	static struct findings findings;
	char copy[300];

	snprintf(copy, sizeof(copy), "%s.changed", (const char *)*state);
	copy_file(*state, copy);
	tamper(copy,
		"UPDATE run_outcome SET run = 99 WHERE run = 1;"
		"UPDATE run_outcome SET run = 1 WHERE run = 2;"
		"UPDATE run_outcome SET run = 2 WHERE run = 99",
		&findings);
	assert_names(&findings, 1, "run_outcome");
	assert_names(&findings, 2, "run_outcome");
	assert_names(&findings, 2, "maximum_mono_ns");

	copy_file(*state, copy);
	tamper(copy,
		"UPDATE chunk SET seq = 999 WHERE run = 1 AND seq = 3;"
		"UPDATE chunk SET seq = 3 WHERE run = 1 AND seq = 4;"
		"UPDATE chunk SET seq = 4 WHERE run = 1 AND seq = 999",
		&findings);
	assert_names(&findings, 1, "chunk");

	copy_file(*state, copy);
	tamper(copy,
		"INSERT INTO chunk (run, seq, cell, reading_count, readings)"
		" SELECT run, seq + 1, cell, reading_count, readings FROM chunk WHERE run = 1"
		" ORDER BY seq DESC LIMIT 1",
		&findings);
	assert_names(&findings, 1, "chunk");
	assert_names(&findings, 1, "reading_count");
}

/* Readings changed where it makes no difference, the chunk's own check made to fit: only the seal
 * can tell. */
static void test_readings_forged_with_their_check(void **state)
{
	static struct findings findings;
	static struct reading readings[CHUNK_READINGS_MAX];
	unsigned char bytes[CHUNK_SIZE_MAX];
	struct audit_summary summary;
	sqlite3_stmt *statement;
	size_t count, size;

	sqlite3 *db = break_in(*state);
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
	leave(db);
	audit(*state, &findings, &summary);
	assert_int_equal(findings.count, 1);
	assert_int_equal(findings.list[0].kind, AUDIT_SEAL);
	assert_names(&findings, 1, "chunk");
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
	sqlite3 *db = break_in(path);

	run_sql(db, "UPDATE run SET program = 'ramplogd 9.9.9' WHERE run = 2");
	leave(db);
	struct store *store = fixture_open(path, STORE_READ);
	assert_int_equal(seal_find(store, SEAL_RUN, 2, seal), STORE_OK);
	assert_int_equal(seal_parts(store, seal), STORE_OK);
	seal_hash(seal, seal->hash);
	store_close(store);
}

/* Who changes a run and seals it again has broken the link of the next seal. */
static void test_a_run_sealed_again(void **state)
{
	static struct findings findings;
	struct audit_summary summary;
	struct seal seal;

	change_and_seal_again(*state, &seal);
	sqlite3 *db = break_in(*state);
	put_seal(db, &seal);
	leave(db);
	audit(*state, &findings, &summary);
	assert_int_equal(findings.count, 2);
	assert_names(&findings, 2, "seal.signature");
	assert_string_equal(findings.list[1].field, "seal.previous");
	assert_int_equal(findings.list[1].kind, AUDIT_SEAL);
}

/* And who goes on to the end of the chain lacks the key: each seal is named. */
static void test_the_chain_hashed_again_without_the_key(void **state)
{
	static struct findings findings;
	unsigned char public_key[crypto_sign_PUBLICKEYBYTES], secret[crypto_sign_SECRETKEYBYTES];
	struct audit_summary summary;
	struct seal seal, next;
	size_t count = 0;

	crypto_sign_keypair(public_key, secret);
	change_and_seal_again(*state, &seal);
	for (;; count++) {
		crypto_sign_detached(seal.signature, NULL, seal.hash, sizeof(seal.hash), secret);
		sqlite3 *db = break_in(*state);
		put_seal(db, &seal);
		leave(db);
		struct store *store = fixture_open(*state, STORE_READ);
		enum store_status status = seal_at(store, seal.number + 1, &next);
		store_close(store);
		if (status == STORE_NONE)
			break;
		memcpy(next.previous, seal.hash, sizeof(next.previous));
		seal_hash(&next, next.hash);
		seal = next;
	}
	audit(*state, &findings, &summary);
	assert_int_equal(findings.count, count + 1);
	for (size_t i = 0; i < findings.count; i++)
		assert_string_equal(findings.list[i].field, "seal.signature");
	assert_names(&findings, 2, "seal.signature");
	assert_names(&findings, 3, "seal.signature");
}

/* A thief with the key can do all of it; an anchor that was kept elsewhere still tells. */
static void test_an_anchor_tells_what_the_key_cannot(void **state)
{
	static struct findings findings;
	struct audit_hooks hooks = {keep, NULL, &findings};
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
	};
	static struct findings findings;
	struct audit_summary summary;
	char copy[300];

	snprintf(copy, sizeof(copy), "%s.changed", (const char *)*state);
	for (size_t i = 0; i < sizeof(changes) / sizeof(changes[0]); i++) {
		sqlite3 *db;
		copy_file(*state, copy);
		assert_int_equal(sqlite3_open(copy, &db), SQLITE_OK);
		run_sql(db, changes[i].text);
		assert_int_equal(sqlite3_close(db), SQLITE_OK);
		audit(copy, &findings, &summary);
		assert_names(&findings, 0, changes[i].field);
	}
}

/* Bytes of the file itself, anywhere: found, or without effect; never a crash. */
static void test_damaged_files(void **state)
{
	static struct findings findings;
	struct audit_summary summary;
	char copy[300];
	uint64_t random = getenv("STORE_SEED") ? strtoull(getenv("STORE_SEED"), NULL, 0) : 1;
	size_t found = 0;

	snprintf(copy, sizeof(copy), "%s.changed", (const char *)*state);
	for (int round = 0; round < 60; round++) {
		struct message why;
		struct store *store;
		copy_file(*state, copy);
		FILE *file = fopen(copy, "r+b");
		assert_non_null(file);
		fseek(file, 0, SEEK_END);
		long size = ftell(file);
		for (int byte = 0; byte < 20; byte++) {
			random = random * 6364136223846793005 + 1442695040888963407;
			fseek(file, (long)((random >> 33) % (uint64_t)size), SEEK_SET);
			fputc((int)(random >> 25) & 0xff, file);
		}
		fclose(file);
		memset(&findings, 0, sizeof(findings));
		if (store_open(&store, copy, STORE_READ, &why) != STORE_OK) {
			found++;
			continue;
		}
		enum store_status status =
			audit_runs(store, NULL, 0, keep, NULL, &findings, &summary);
		found += status != STORE_OK || findings.count > 0;
		store_close(store);
	}
	print_message("%zu of 60 damaged files were found\n", found);
	assert_true(found > 40);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, fill, fixture_teardown)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(test_untouched_is_intact),
		TEST(test_replay_gives_the_samples),
		TEST(test_an_unclosed_run_is_no_difference),
		TEST(test_named_runs_and_stopping),
		TEST(test_every_column_is_watched),
		TEST(test_the_field_is_named),
		TEST(test_rows_taken_away),
		TEST(test_rows_moved),
		TEST(test_readings_forged_with_their_check),
		TEST(test_a_run_sealed_again),
		TEST(test_the_chain_hashed_again_without_the_key),
		TEST(test_an_anchor_tells_what_the_key_cannot),
		TEST(test_the_file_as_a_whole),
		TEST(test_damaged_files),
	};

	return cmocka_run_group_tests_name("audit", tests, write_master, fixture_teardown);
}
