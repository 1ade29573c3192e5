/* SPDX-License-Identifier: MIT
 *
 * Version 7 of the tables: reports that were given out.
 * Databases of this version exist: this file never changes.
 */
#include "store/schema_steps.h"

// clang-format off
static const char reports_7[] =
	"CREATE TABLE report ("
	" report INTEGER PRIMARY KEY CHECK (report > 0),"
	" is_set INTEGER NOT NULL CHECK (is_set IN (0, 1)),"
	" subject TEXT NOT NULL CHECK (subject <> ''),"
	" issued_utc_ns INTEGER NOT NULL,"
	" laboratory TEXT NOT NULL,"
	" customer TEXT NOT NULL,"
	" reviewer TEXT NOT NULL,"
	" field INTEGER NOT NULL CHECK (field IN (0, 1)),"
	" replaces INTEGER NOT NULL CHECK (replaces >= 0 AND replaces < report),"
	" reason TEXT NOT NULL CHECK ((reason <> '') = (replaces > 0)),"
	" format TEXT NOT NULL,"
	" hash TEXT NOT NULL CHECK (length(hash) = 64),"
	" run_count INTEGER NOT NULL CHECK (run_count > 0),"
	" at_utc_ns INTEGER NOT NULL,"
	" by_uid INTEGER NOT NULL,"
	" by_name TEXT NOT NULL"
	") STRICT;"
	"CREATE INDEX report_by_subject ON report (subject);"
	"CREATE INDEX report_by_hash ON report (hash);"
	"CREATE UNIQUE INDEX report_by_replaced ON report (replaces) WHERE replaces > 0;"

	/* seal: of the run when the report was given out; 0: it was not closed. */
	"CREATE TABLE report_run ("
	" report INTEGER NOT NULL REFERENCES report (report),"
	" seq INTEGER NOT NULL,"
	" run INTEGER NOT NULL REFERENCES run (run),"
	" seal INTEGER NOT NULL,"
	" PRIMARY KEY (report, seq)"
	") STRICT, WITHOUT ROWID;";
// clang-format on

static const struct schema_guard guards_7[] = {
	{"report", "report = NEW.report", false},
	{"report_run", "report = NEW.report AND seq = NEW.seq", false},
};

enum store_status schema_step_7(struct store *store)
{
	enum store_status status = sql_run(store, reports_7);

	for (size_t i = 0; i < sizeof(guards_7) / sizeof(guards_7[0]) && status == STORE_OK; i++)
		status = schema_guard(store, &guards_7[i]);
	return status;
}
