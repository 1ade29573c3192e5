/* SPDX-License-Identifier: MIT
 *
 * Databases, forged, and what the audit says about them.
 */
#include "unit/store/forge.h"

#include "unit/check.h"
#include "unit/store/fixture.h"

#include <sqlite3.h>
#include <stdio.h>
#include <string.h>

bool forge_keep_going(void *context, size_t done, size_t total)
{
	struct forge_findings *findings = context;

	if (total == 0) /* the file as a whole */
		return true;
	assert_true(done <= total);
	findings->done = done;
	return done != findings->stop_at;
}

void forge_keep(void *context, const struct audit_finding *finding)
{
	struct forge_findings *findings = context;

	assert_true(findings->count < FORGE_FINDINGS_MAX);
	findings->list[findings->count++] = *finding;
}

void forge_audit(const char *path, struct forge_findings *findings, struct audit_summary *summary)
{
	struct store *store = fixture_open(path, STORE_READ);

	memset(findings, 0, sizeof(*findings));
	enum store_status status =
		audit_runs(store, NULL, 0, forge_keep, forge_keep_going, findings, summary);
	if (status != STORE_OK)
		fail_msg("%s", store_error(store));
	store_close(store);
}

void forge_print(const struct forge_findings *findings)
{
	for (size_t i = 0; i < findings->count; i++)
		print_message("run %d %s: stored %s, derived %s\n", (int)findings->list[i].run,
			findings->list[i].field, findings->list[i].stored,
			findings->list[i].derived);
}

static bool names(const struct forge_findings *findings, int64_t run, const char *field)
{
	for (size_t i = 0; i < findings->count; i++) {
		if (findings->list[i].run == run && strcmp(findings->list[i].field, field) == 0)
			return true;
	}
	return false;
}

void forge_assert_names(const struct forge_findings *findings, int64_t run, const char *field)
{
	if (names(findings, run, field))
		return;
	forge_print(findings);
	fail_msg("run %d, field %s: not found", (int)run, field);
}

/* The triggers, while they are taken away. */
enum { TRIGGERS_MAX = 400 };
static char *triggers[TRIGGERS_MAX];
static size_t trigger_count;

void forge_sql(sqlite3 *db, const char *text)
{
	char *error = NULL;

	if (sqlite3_exec(db, text, NULL, NULL, &error) != SQLITE_OK)
		fail_msg("%s: %s", text, error);
}

sqlite3 *forge_break_in(const char *path)
{
	sqlite3 *db;
	sqlite3_stmt *found;
	char text[100];

	assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
	forge_sql(db, "PRAGMA ignore_check_constraints = ON; PRAGMA synchronous = OFF; BEGIN");
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
		forge_sql(db, text);
	}
	return db;
}

void forge_leave(sqlite3 *db)
{
	for (size_t i = 0; i < trigger_count; i++) {
		forge_sql(db, triggers[i]);
		sqlite3_free(triggers[i]);
	}
	forge_sql(db, "COMMIT");
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

void forge_copy(const char *path, char copy[FORGE_PATH_SIZE])
{
	snprintf(copy, FORGE_PATH_SIZE, "%s.changed", path);
	copy_file(path, copy);
}

static char *master;

int forge_write_master(void **state)
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

int forge_setup(void **state)
{
	fixture_setup(state);
	copy_file(master, *state);
	return 0;
}

void forge_tamper(const char *path, const char *text, struct forge_findings *findings)
{
	struct audit_summary summary;
	char copy[FORGE_PATH_SIZE];

	forge_copy(path, copy);
	sqlite3 *db = forge_break_in(copy);
	forge_sql(db, text);
	forge_leave(db);
	forge_audit(copy, findings, &summary);
	assert_int_equal(summary.difference_count, findings->count);
}
