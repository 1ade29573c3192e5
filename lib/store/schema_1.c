/* SPDX-License-Identifier: MIT
 *
 * Version 1 of the tables. docs/database.md explains them to whoever has nothing but SQLite; the
 * two change together. Units stand in the names: _un micronewtons, _um micrometres, _ns
 * nanoseconds; _mono on the monotonic clock of one boot, _utc since 1970.
 *
 * Invariants: rows are only added (triggers refuse UPDATE, DELETE and REPLACE on every table, and
 * any row for a run that is sealed); no column is ever NULL but run.seat, since NULL would hide a
 * lost value. STRICT, so that a column holds what it says. Databases of this version exist: this
 * file never changes.
 */
#include "store/schema_steps.h"

/* A line a column. */
// clang-format off
/* Specimens and what sits in the press. */
static const char specimens_1[] =
	"CREATE TABLE specimen ("
	" number INTEGER PRIMARY KEY,"
	" specimen TEXT NOT NULL UNIQUE CHECK (specimen <> ''),"
	" set_name TEXT NOT NULL,"
	" shape TEXT NOT NULL,"
	" width_1_um INTEGER NOT NULL,"
	" width_2_um INTEGER NOT NULL,"
	" length_um INTEGER NOT NULL,"
	" cast_utc_ns INTEGER NOT NULL,"
	" anticipated_pa REAL NOT NULL,"
	" method TEXT NOT NULL,"
	" chosen_rate_pa_s REAL NOT NULL,"
	" at_utc_ns INTEGER NOT NULL,"
	" by_uid INTEGER NOT NULL,"
	" by_name TEXT NOT NULL"
	") STRICT;"

	"CREATE TABLE seat ("
	" seat INTEGER PRIMARY KEY,"
	" press TEXT NOT NULL,"
	" specimen TEXT NOT NULL REFERENCES specimen (specimen),"
	" at_utc_ns INTEGER NOT NULL,"
	" by_uid INTEGER NOT NULL,"
	" by_name TEXT NOT NULL"
	") STRICT;"
	"CREATE INDEX seat_by_press ON seat (press);";

/* A run as it begins, and its readings. */
static const char runs_1[] =
	"CREATE TABLE policy ("
	" policy INTEGER PRIMARY KEY,"
	" since_utc_ns INTEGER NOT NULL"
	") STRICT;"
	"CREATE TABLE policy_value ("
	" policy INTEGER NOT NULL REFERENCES policy (policy),"
	" name TEXT NOT NULL,"
	" value REAL NOT NULL,"
	" unit TEXT NOT NULL,"
	" PRIMARY KEY (policy, name)"
	") STRICT, WITHOUT ROWID;"

	"CREATE TABLE run ("
	" run INTEGER PRIMARY KEY CHECK (run > 0),"
	" seat INTEGER UNIQUE REFERENCES seat (seat),"
	" policy INTEGER NOT NULL REFERENCES policy (policy),"
	" cell_count INTEGER NOT NULL CHECK (cell_count > 0),"
	" press TEXT NOT NULL CHECK (press <> ''),"
	" method TEXT NOT NULL,"
	" program TEXT NOT NULL,"
	" started_utc_ns INTEGER NOT NULL,"
	" origin_mono_ns INTEGER NOT NULL,"
	" boot_id TEXT NOT NULL,"
	" capacity_un INTEGER NOT NULL,"
	" area_m2 REAL NOT NULL,"
	" rate_unit_pa REAL NOT NULL,"
	" band_low_unit_s REAL NOT NULL,"
	" band_high_unit_s REAL NOT NULL,"
	" span_from_fraction REAL NOT NULL,"
	" span_to_fraction REAL NOT NULL,"
	" window_ns INTEGER NOT NULL,"
	" anticipated_load_un INTEGER NOT NULL,"
	" basis_anticipated INTEGER NOT NULL CHECK (basis_anticipated IN (0, 1)),"
	" contact_un INTEGER NOT NULL,"
	" alignment_un INTEGER NOT NULL"
	") STRICT;"
	"CREATE INDEX run_by_press ON run (press);"
	"CREATE INDEX run_by_start ON run (started_utc_ns);"

	"CREATE TABLE run_specimen ("
	" run INTEGER PRIMARY KEY REFERENCES run (run),"
	" specimen TEXT NOT NULL,"
	" set_name TEXT NOT NULL,"
	" shape TEXT NOT NULL,"
	" width_1_um INTEGER NOT NULL,"
	" width_2_um INTEGER NOT NULL,"
	" length_um INTEGER NOT NULL,"
	" cast_utc_ns INTEGER NOT NULL,"
	" anticipated_pa REAL NOT NULL,"
	" method TEXT NOT NULL,"
	" chosen_rate_pa_s REAL NOT NULL"
	") STRICT;"
	"CREATE INDEX run_specimen_by_specimen ON run_specimen (specimen);"
	"CREATE INDEX run_specimen_by_set ON run_specimen (set_name);"

	"CREATE TABLE run_cell ("
	" run INTEGER NOT NULL REFERENCES run (run),"
	" cell INTEGER NOT NULL CHECK (cell >= 0),"
	" name TEXT NOT NULL,"
	" device TEXT NOT NULL,"
	" decoder TEXT NOT NULL,"
	" unit TEXT NOT NULL,"
	" factor_mantissa INTEGER NOT NULL,"
	" factor_exponent INTEGER NOT NULL,"
	" zero_un INTEGER NOT NULL,"
	" PRIMARY KEY (run, cell)"
	") STRICT, WITHOUT ROWID;"

	/* A rowid table: in one WITHOUT ROWID a blob of this size would take overflow pages. */
	"CREATE TABLE chunk ("
	" number INTEGER PRIMARY KEY,"
	" run INTEGER NOT NULL,"
	" seq INTEGER NOT NULL CHECK (seq >= 0),"
	" cell INTEGER NOT NULL,"
	" reading_count INTEGER NOT NULL CHECK (reading_count > 0),"
	" readings BLOB NOT NULL,"
	" UNIQUE (run, seq),"
	" FOREIGN KEY (run, cell) REFERENCES run_cell (run, cell)"
	") STRICT;";

/* What came of a run, and what people say of it afterwards. */
static const char outcomes_1[] =
	"CREATE TABLE run_outcome ("
	" run INTEGER PRIMARY KEY REFERENCES run (run),"
	" ended_utc_ns INTEGER NOT NULL,"
	" reading_count INTEGER NOT NULL CHECK (reading_count >= 0),"
	" ending TEXT NOT NULL,"
	" maximum_un INTEGER NOT NULL,"
	" maximum_mono_ns INTEGER NOT NULL,"
	" basis TEXT NOT NULL,"
	" area_m2 REAL NOT NULL,"
	" correction REAL NOT NULL,"
	" strength_pa REAL NOT NULL,"
	" strength_reported TEXT NOT NULL,"
	" event_count INTEGER NOT NULL,"
	" event_total INTEGER NOT NULL"
	") STRICT;"

	"CREATE TABLE run_rate ("
	" run INTEGER NOT NULL REFERENCES run (run),"
	" other INTEGER NOT NULL CHECK (other IN (0, 1)),"
	" basis TEXT NOT NULL,"
	" verdict TEXT NOT NULL,"
	" reason TEXT NOT NULL,"
	" band_low_pa_s REAL NOT NULL,"
	" band_high_pa_s REAL NOT NULL,"
	" from_mono_ns INTEGER NOT NULL,"
	" to_mono_ns INTEGER NOT NULL,"
	" mean_pa_s REAL NOT NULL,"
	" lowest_pa_s REAL NOT NULL,"
	" highest_pa_s REAL NOT NULL,"
	" window_ns INTEGER NOT NULL,"
	" uncertainty_pa_s REAL NOT NULL,"
	" outside_ns INTEGER NOT NULL,"
	" worst_mono_ns INTEGER NOT NULL,"
	" PRIMARY KEY (run, other)"
	") STRICT, WITHOUT ROWID;"
	"CREATE INDEX run_rate_by_verdict ON run_rate (verdict, run) WHERE other = 0;"

	"CREATE TABLE run_event ("
	" run INTEGER NOT NULL REFERENCES run (run),"
	" seq INTEGER NOT NULL CHECK (seq >= 0),"
	" kind TEXT NOT NULL,"
	" time_mono_ns INTEGER NOT NULL,"
	" load_un INTEGER NOT NULL,"
	" text TEXT NOT NULL,"
	" PRIMARY KEY (run, seq)"
	") STRICT, WITHOUT ROWID;"

	"CREATE TABLE seal ("
	" seal INTEGER PRIMARY KEY CHECK (seal > 0),"
	" run INTEGER NOT NULL UNIQUE REFERENCES run_outcome (run),"
	" version INTEGER NOT NULL,"
	" previous BLOB NOT NULL CHECK (length(previous) = 32),"
	" parts BLOB NOT NULL,"
	" hash BLOB NOT NULL CHECK (length(hash) = 32)"
	") STRICT;"

	"CREATE TABLE fracture ("
	" fracture INTEGER PRIMARY KEY,"
	" run INTEGER NOT NULL REFERENCES run_outcome (run),"
	" type INTEGER NOT NULL CHECK (type BETWEEN 1 AND 6),"
	" note TEXT NOT NULL,"
	" at_utc_ns INTEGER NOT NULL,"
	" by_uid INTEGER NOT NULL,"
	" by_name TEXT NOT NULL"
	") STRICT;"
	"CREATE INDEX fracture_by_run ON fracture (run);";

/* For people with nothing but the sqlite3 shell. */
static const char views_1[] =
	"CREATE VIEW run_summary AS SELECT"
	" run.run, run.press, ifnull(run_specimen.specimen, '') AS specimen,"
	" ifnull(run_specimen.set_name, '') AS set_name, run.method,"
	" strftime('%Y-%m-%dT%H:%M:%fZ', run.started_utc_ns / 1e9, 'unixepoch') AS started,"
	" run_outcome.ending, run_outcome.maximum_un / 1e6 AS maximum_n,"
	" run_outcome.strength_pa / 1e6 AS strength_mpa, run_outcome.strength_reported,"
	" run_rate.verdict, run_rate.reason, run_rate.mean_pa_s / 1e6 AS mean_mpa_s,"
	" run_outcome.reading_count,"
	" (SELECT type FROM fracture WHERE fracture.run = run.run"
	"  ORDER BY fracture DESC LIMIT 1) AS fracture"
	" FROM run LEFT JOIN run_specimen USING (run) LEFT JOIN run_outcome USING (run)"
	" LEFT JOIN run_rate ON run_rate.run = run.run AND run_rate.other = 0;";
// clang-format on

/* Every table that holds evidence, and what makes a new row collide with one that is there. */
static const struct schema_guard guards_1[] = {
	{"specimen", "number = NEW.number OR specimen = NEW.specimen", false},
	{"seat", "seat = NEW.seat", false},
	{"policy", "policy = NEW.policy", false},
	{"policy_value", "policy = NEW.policy AND name = NEW.name", false},
	{"run", "run = NEW.run OR seat = NEW.seat", false},
	{"run_specimen", "run = NEW.run", true},
	{"run_cell", "run = NEW.run AND cell = NEW.cell", true},
	{"chunk", "number = NEW.number OR (run = NEW.run AND seq = NEW.seq)", true},
	{"run_outcome", "run = NEW.run", true},
	{"run_rate", "run = NEW.run AND other = NEW.other", true},
	{"run_event", "run = NEW.run AND seq = NEW.seq", true},
	{"seal", "seal = NEW.seal OR run = NEW.run", false},
	{"fracture", "fracture = NEW.fracture", false},
};

enum store_status schema_step_1(struct store *store)
{
	enum store_status status = sql_run(store, specimens_1);

	if (status == STORE_OK)
		status = sql_run(store, runs_1);
	if (status == STORE_OK)
		status = sql_run(store, outcomes_1);
	if (status == STORE_OK)
		status = sql_run(store, views_1);
	for (size_t i = 0; i < sizeof(guards_1) / sizeof(guards_1[0]) && status == STORE_OK; i++)
		status = schema_guard(store, &guards_1[i]);
	return status;
}
