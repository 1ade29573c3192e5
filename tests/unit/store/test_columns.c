/* SPDX-License-Identifier: MIT
 *
 * The audit watches every column of every table, changed one at a time, and every row taken away.
 */
#include "unit/check.h"
#include "unit/store/fixture.h"
#include "unit/store/forge.h"

#include <sqlite3.h>
#include <stdio.h>
#include <string.h>

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
	forge_sql(db, text);
	if (sqlite3_changes(db) != 1)
		fail_msg("%s: changed %d rows", text, sqlite3_changes(db));
}

static size_t try_columns(const char *path, const struct evidence *place)
{
	static struct forge_findings findings;
	struct audit_summary summary;
	sqlite3_stmt *columns;
	sqlite3 *source;
	char text[200], copy[FORGE_PATH_SIZE];
	size_t count = 0;

	snprintf(
		text, sizeof(text), "SELECT name, type FROM pragma_table_info('%s')", place->table);
	assert_int_equal(sqlite3_open(path, &source), SQLITE_OK);
	assert_int_equal(sqlite3_prepare_v2(source, text, -1, &columns, NULL), SQLITE_OK);
	for (; sqlite3_step(columns) == SQLITE_ROW; count++) {
		const char *column = (const char *)sqlite3_column_text(columns, 0);
		forge_copy(path, copy);
		sqlite3 *db = forge_break_in(copy);
		change_column(db, place, column, (const char *)sqlite3_column_text(columns, 1));
		forge_leave(db);
		forge_audit(copy, &findings, &summary);
		bool named = false;
		for (size_t i = 0; i < findings.count; i++)
			named = named ||
				(place->place ? strncmp(findings.list[i].place, place->place,
							strlen(place->place)) == 0
					      : findings.list[i].run == 2);
		if (!named) {
			forge_print(&findings);
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

static void test_rows_taken_away(void **state)
{
	static struct forge_findings findings;
	char text[200];

	for (size_t i = 0; i < sizeof(evidence) / sizeof(evidence[0]); i++) {
		snprintf(text, sizeof(text), "DELETE FROM %s WHERE %s", evidence[i].table,
			evidence[i].row);
		forge_tamper(*state, text, &findings);
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
	forge_tamper(*state, "DELETE FROM run WHERE run = 2", &findings);
	assert_int_equal(findings.list[0].kind, AUDIT_MISSING);
	forge_assert_names(&findings, 2, "run");

	forge_tamper(*state,
		"DELETE FROM chunk WHERE run = 2 AND seq = (SELECT max(seq) FROM chunk WHERE run = "
		"2)",
		&findings);
	forge_assert_names(&findings, 2, "reading_count");

	forge_tamper(*state, "DELETE FROM seal WHERE run = 3", &findings);
	forge_assert_names(&findings, 3, "seal");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		FORGE_TEST(test_every_column_is_watched),
		FORGE_TEST(test_rows_taken_away),
	};

	return cmocka_run_group_tests_name("columns", tests, forge_write_master, fixture_teardown);
}
