/* SPDX-License-Identifier: MIT
 *
 * Version 6 of the tables: each measure of a specimen and not their mean alone, corrections of
 * details, the terms under which a set is accepted, and where a beam cracked.
 * Databases of this version exist: this file never changes.
 */
#include "store/schema_steps.h"

// clang-format off
/* Anew, since details can be corrected: a specimen may have several rows, the newest holds. The
 * rows stay as they were; those of version 4 do not say who entered them: the specimen's row does.
 */
static const char details_6[] =
	"CREATE TABLE specimen_detail_6 ("
	" number INTEGER PRIMARY KEY,"
	" specimen TEXT NOT NULL REFERENCES specimen (specimen),"
	" intended_age_ns INTEGER NOT NULL,"
	" mass_mg INTEGER NOT NULL,"
	" ends TEXT NOT NULL,"
	" pad TEXT NOT NULL,"
	" pad_hardness INTEGER NOT NULL,"
	" out_of_square_udeg INTEGER NOT NULL,"
	" out_of_plane_um INTEGER NOT NULL,"
	" moist TEXT NOT NULL,"
	" reduced INTEGER NOT NULL CHECK (reduced IN (0, 1)),"
	" lot TEXT NOT NULL,"
	" reason TEXT NOT NULL,"
	" at_utc_ns INTEGER NOT NULL,"
	" by_uid INTEGER NOT NULL,"
	" by_name TEXT NOT NULL"
	") STRICT;"
	"INSERT INTO specimen_detail_6 SELECT number, specimen, intended_age_ns, mass_mg, ends,"
	" pad, pad_hardness, out_of_square_udeg, out_of_plane_um, moist, reduced, '', '', 0, 0, ''"
	" FROM specimen_detail;"
	"DROP TABLE specimen_detail;"
	"PRAGMA legacy_alter_table = ON;"
	"ALTER TABLE specimen_detail_6 RENAME TO specimen_detail;"
	"PRAGMA legacy_alter_table = OFF;"
	"CREATE INDEX specimen_detail_by_specimen ON specimen_detail (specimen);"
	"CREATE INDEX specimen_detail_by_pad ON specimen_detail (pad) WHERE pad <> '';"
	"CREATE TABLE specimen_measure ("
	" number INTEGER NOT NULL REFERENCES specimen_detail (number),"
	" what TEXT NOT NULL CHECK (what IN ('width', 'length')),"
	" seq INTEGER NOT NULL,"
	" value_um INTEGER NOT NULL,"
	" PRIMARY KEY (number, what, seq)"
	") STRICT, WITHOUT ROWID;";

static const char terms_6[] =
	"CREATE TABLE set_terms ("
	" terms INTEGER PRIMARY KEY,"
	" set_name TEXT NOT NULL CHECK (set_name <> ''),"
	" series TEXT NOT NULL,"
	" rule TEXT NOT NULL,"
	" specified_pa REAL NOT NULL,"
	" sigma_pa REAL NOT NULL,"
	" field INTEGER NOT NULL CHECK (field IN (0, 1)),"
	" at_utc_ns INTEGER NOT NULL,"
	" by_uid INTEGER NOT NULL,"
	" by_name TEXT NOT NULL"
	") STRICT;"
	"CREATE INDEX set_terms_by_set ON set_terms (set_name);"
	"CREATE INDEX set_terms_by_series ON set_terms (series) WHERE series <> '';";

/* From the nearer support, along the tension face; 0: not entered. */
static const char cracks_6[] =
	"ALTER TABLE fracture ADD COLUMN crack_um INTEGER NOT NULL DEFAULT 0;";
// clang-format on

static const struct schema_guard guards_6[] = {
	{"specimen_detail", "number = NEW.number", false},
	{"specimen_measure", "number = NEW.number AND what = NEW.what AND seq = NEW.seq", false},
	{"set_terms", "terms = NEW.terms", false},
};

enum store_status schema_step_6(struct store *store)
{
	static const char *const texts[] = {details_6, terms_6, cracks_6};
	enum store_status status = STORE_OK;

	for (size_t i = 0; i < sizeof(texts) / sizeof(texts[0]) && status == STORE_OK; i++)
		status = sql_run(store, texts[i]);
	for (size_t i = 0; i < sizeof(guards_6) / sizeof(guards_6[0]) && status == STORE_OK; i++)
		status = schema_guard(store, &guards_6[i]);
	return status;
}
