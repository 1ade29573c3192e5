/* SPDX-License-Identifier: MIT
 *
 * Version 2 of the tables: the press itself. Its verifications, what was done to it, its cells'
 * zeros; and with each run how the press stood, where its cells are, where the load acted.
 * Databases of this version exist: this file never changes.
 */
#include "store/schema_steps.h"

// clang-format off
static const char press_2[] =
	"CREATE TABLE verification ("
	" verification INTEGER PRIMARY KEY CHECK (verification > 0),"
	" press TEXT NOT NULL CHECK (press <> ''),"
	" verified_utc_ns INTEGER NOT NULL,"
	" guided INTEGER NOT NULL CHECK (guided IN (0, 1)),"
	" certificate TEXT NOT NULL,"
	" reference TEXT NOT NULL CHECK (reference <> ''),"
	" capacity_un INTEGER NOT NULL,"
	" increment_un INTEGER NOT NULL,"
	" resolution_un INTEGER NOT NULL,"
	" return_1_un INTEGER NOT NULL,"
	" return_2_un INTEGER NOT NULL,"
	" force_count INTEGER NOT NULL CHECK (force_count >= 0),"
	" low_un INTEGER NOT NULL,"
	" high_un INTEGER NOT NULL,"
	" worst_percent REAL NOT NULL,"
	" repeatability_percent REAL NOT NULL,"
	" passed INTEGER NOT NULL CHECK (passed IN (0, 1)),"
	" reason TEXT NOT NULL,"
	" at_utc_ns INTEGER NOT NULL,"
	" by_uid INTEGER NOT NULL,"
	" by_name TEXT NOT NULL"
	") STRICT;"
	"CREATE INDEX verification_by_press ON verification (press, verified_utc_ns);"

	"CREATE TABLE verification_force ("
	" verification INTEGER NOT NULL REFERENCES verification (verification),"
	" seq INTEGER NOT NULL CHECK (seq >= 0),"
	" true_1_un INTEGER NOT NULL,"
	" true_2_un INTEGER NOT NULL,"
	" indicated_1_un INTEGER NOT NULL,"
	" indicated_2_un INTEGER NOT NULL,"
	" error_1_percent REAL NOT NULL,"
	" error_2_percent REAL NOT NULL,"
	" PRIMARY KEY (verification, seq)"
	") STRICT, WITHOUT ROWID;"

	"CREATE TABLE upkeep ("
	" upkeep INTEGER PRIMARY KEY CHECK (upkeep > 0),"
	" press TEXT NOT NULL CHECK (press <> ''),"
	" kind TEXT NOT NULL CHECK (kind IN ('relocation', 'repair', 'doubt', 'socket_care')),"
	" happened_utc_ns INTEGER NOT NULL,"
	" note TEXT NOT NULL,"
	" at_utc_ns INTEGER NOT NULL,"
	" by_uid INTEGER NOT NULL,"
	" by_name TEXT NOT NULL"
	") STRICT;"
	"CREATE INDEX upkeep_by_press ON upkeep (press, happened_utc_ns);"

	"CREATE TABLE zero ("
	" zero INTEGER PRIMARY KEY CHECK (zero > 0),"
	" press TEXT NOT NULL CHECK (press <> ''),"
	" cell TEXT NOT NULL,"
	" unit TEXT NOT NULL,"
	" factor_mantissa INTEGER NOT NULL,"
	" factor_exponent INTEGER NOT NULL,"
	" zero_un INTEGER NOT NULL,"
	" before_un INTEGER NOT NULL,"
	" note TEXT NOT NULL,"
	" at_utc_ns INTEGER NOT NULL,"
	" by_uid INTEGER NOT NULL,"
	" by_name TEXT NOT NULL"
	") STRICT;"
	"CREATE INDEX zero_by_cell ON zero (press, cell);";

static const char runs_2[] =
	"CREATE TABLE run_press ("
	" run INTEGER PRIMARY KEY REFERENCES run (run),"
	" zero_limit_un INTEGER NOT NULL,"
	" drift_limit_un INTEGER NOT NULL,"
	" has_zero_before INTEGER NOT NULL CHECK (has_zero_before IN (0, 1)),"
	" zero_before_un INTEGER NOT NULL,"
	" thrust_limit_um INTEGER NOT NULL,"
	" thrust_least_un INTEGER NOT NULL,"
	" block_um INTEGER NOT NULL,"
	" block_square INTEGER NOT NULL CHECK (block_square IN (0, 1)),"
	" place_count INTEGER NOT NULL CHECK (place_count >= 0),"
	" standing TEXT NOT NULL,"
	" verification INTEGER NOT NULL,"
	" verified_utc_ns INTEGER NOT NULL,"
	" due_utc_ns INTEGER NOT NULL,"
	" verified_low_un INTEGER NOT NULL,"
	" verified_high_un INTEGER NOT NULL,"
	" standing_note TEXT NOT NULL"
	") STRICT;"

	"CREATE TABLE run_place ("
	" run INTEGER NOT NULL,"
	" cell INTEGER NOT NULL,"
	" x_um INTEGER NOT NULL,"
	" y_um INTEGER NOT NULL,"
	" PRIMARY KEY (run, cell),"
	" FOREIGN KEY (run, cell) REFERENCES run_cell (run, cell)"
	") STRICT, WITHOUT ROWID;"

	"CREATE TABLE run_thrust ("
	" run INTEGER PRIMARY KEY REFERENCES run_outcome (run),"
	" known INTEGER NOT NULL CHECK (known IN (0, 1)),"
	" x_um INTEGER NOT NULL,"
	" y_um INTEGER NOT NULL,"
	" worst_um INTEGER NOT NULL,"
	" worst_mono_ns INTEGER NOT NULL"
	") STRICT;"

	/* Why a run may not be reported, as far as its press is concerned; empty: it may. */
	"CREATE VIEW run_reportable AS SELECT run.run, CASE"
	" WHEN run_press.run IS NULL THEN 'verification of the press not kept'"
	" WHEN standing <> 'valid' THEN 'press not verified: ' || standing"
	" WHEN maximum_un > 0 AND maximum_un < verified_low_un THEN 'below the verified range'"
	" WHEN maximum_un > verified_high_un THEN 'above the verified range'"
	" ELSE '' END AS not_reportable"
	" FROM run LEFT JOIN run_press USING (run) LEFT JOIN run_outcome USING (run);";
// clang-format on

static const struct schema_guard guards_2[] = {
	{"verification", "verification = NEW.verification", false},
	{"verification_force", "verification = NEW.verification AND seq = NEW.seq", false},
	{"upkeep", "upkeep = NEW.upkeep", false},
	{"zero", "zero = NEW.zero", false},
	{"run_press", "run = NEW.run", true},
	{"run_place", "run = NEW.run AND cell = NEW.cell", true},
	{"run_thrust", "run = NEW.run", true},
};

enum store_status schema_step_2(struct store *store)
{
	enum store_status status = sql_run(store, press_2);

	if (status == STORE_OK)
		status = sql_run(store, runs_2);
	for (size_t i = 0; i < sizeof(guards_2) / sizeof(guards_2[0]) && status == STORE_OK; i++)
		status = schema_guard(store, &guards_2[i]);
	return status;
}
