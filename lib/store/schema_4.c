/* SPDX-License-Identifier: MIT
 *
 * Version 4 of the tables: the whole text of the test method with each run, what a laboratory
 * confirmed of a method, and what is measured of a specimen beside its dimensions.
 * Databases of this version exist: this file never changes.
 */
#include "store/schema_steps.h"

// clang-format off
static const char methods_4[] =
	"CREATE TABLE method_text ("
	" method INTEGER PRIMARY KEY CHECK (method > 0),"
	" name TEXT NOT NULL CHECK (name <> ''),"
	" text TEXT NOT NULL CHECK (text <> ''),"
	" since_utc_ns INTEGER NOT NULL"
	") STRICT;"

	"CREATE TABLE run_method ("
	" run INTEGER PRIMARY KEY REFERENCES run (run),"
	" method INTEGER NOT NULL REFERENCES method_text (method)"
	") STRICT;"

	"CREATE TABLE method_confirmation ("
	" confirmation INTEGER PRIMARY KEY,"
	" method INTEGER NOT NULL REFERENCES method_text (method),"
	" edition TEXT NOT NULL CHECK (edition <> ''),"
	" note TEXT NOT NULL,"
	" at_utc_ns INTEGER NOT NULL,"
	" by_uid INTEGER NOT NULL,"
	" by_name TEXT NOT NULL"
	") STRICT;"
	"CREATE INDEX method_confirmation_by_method ON method_confirmation (method);";

/* -1: not measured; 0 and the empty text: not stated. */
static const char details_4[] =
	"CREATE TABLE specimen_detail ("
	" number INTEGER PRIMARY KEY,"
	" specimen TEXT NOT NULL UNIQUE REFERENCES specimen (specimen),"
	" intended_age_ns INTEGER NOT NULL,"
	" mass_mg INTEGER NOT NULL,"
	" ends TEXT NOT NULL,"
	" pad TEXT NOT NULL,"
	" pad_hardness INTEGER NOT NULL,"
	" out_of_square_udeg INTEGER NOT NULL,"
	" out_of_plane_um INTEGER NOT NULL,"
	" moist TEXT NOT NULL,"
	" reduced INTEGER NOT NULL CHECK (reduced IN (0, 1))"
	") STRICT;"
	"CREATE INDEX specimen_detail_by_pad ON specimen_detail (pad) WHERE pad <> '';";
// clang-format on

static const struct schema_guard guards_4[] = {
	{"method_text", "method = NEW.method", false},
	{"run_method", "run = NEW.run", true},
	{"method_confirmation", "confirmation = NEW.confirmation", false},
	{"specimen_detail", "number = NEW.number OR specimen = NEW.specimen", false},
};

enum store_status schema_step_4(struct store *store)
{
	enum store_status status = sql_run(store, methods_4);

	if (status == STORE_OK)
		status = sql_run(store, details_4);
	for (size_t i = 0; i < sizeof(guards_4) / sizeof(guards_4[0]) && status == STORE_OK; i++)
		status = schema_guard(store, &guards_4[i]);
	return status;
}
