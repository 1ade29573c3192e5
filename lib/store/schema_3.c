/* SPDX-License-Identifier: MIT
 *
 * Version 3 of the tables: corrections as rows of their own, keys, seals of everything that is kept
 * and not of runs alone, readings that were lost, the number of samples, and the readings for
 * whoever has nothing but SQL. Databases of this version exist: this file never changes.
 */
#include "store/schema_steps.h"

// clang-format off
static const char corrections_3[] =
	"CREATE TABLE specimen_correction ("
	" correction INTEGER PRIMARY KEY,"
	" specimen TEXT NOT NULL REFERENCES specimen (specimen),"
	" set_name TEXT NOT NULL,"
	" shape TEXT NOT NULL,"
	" width_1_um INTEGER NOT NULL,"
	" width_2_um INTEGER NOT NULL,"
	" length_um INTEGER NOT NULL,"
	" cast_utc_ns INTEGER NOT NULL,"
	" anticipated_pa REAL NOT NULL,"
	" method TEXT NOT NULL,"
	" chosen_rate_pa_s REAL NOT NULL,"
	" reason TEXT NOT NULL CHECK (reason <> ''),"
	" at_utc_ns INTEGER NOT NULL,"
	" by_uid INTEGER NOT NULL,"
	" by_name TEXT NOT NULL"
	") STRICT;"
	"CREATE INDEX specimen_correction_by_specimen ON specimen_correction (specimen);"
	"CREATE TABLE run_correction ("
	" number INTEGER PRIMARY KEY,"
	" run INTEGER NOT NULL REFERENCES run_outcome (run),"
	" kind TEXT NOT NULL CHECK (kind IN ('specimen', 'void', 'valid')),"
	" reason TEXT NOT NULL CHECK (reason <> ''),"
	" at_utc_ns INTEGER NOT NULL,"
	" by_uid INTEGER NOT NULL,"
	" by_name TEXT NOT NULL"
	") STRICT;"
	"CREATE INDEX run_correction_by_run ON run_correction (run);"
	"CREATE TABLE corrected_specimen ("
	" number INTEGER PRIMARY KEY REFERENCES run_correction (number),"
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
	"CREATE INDEX corrected_specimen_by_specimen ON corrected_specimen (specimen);"
	"CREATE TABLE corrected_outcome ("
	" number INTEGER PRIMARY KEY REFERENCES run_correction (number),"
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
	"CREATE TABLE corrected_rate ("
	" number INTEGER NOT NULL REFERENCES run_correction (number),"
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
	" PRIMARY KEY (number, other)"
	") STRICT, WITHOUT ROWID;";

static const char keys_3[] =
	"CREATE TABLE signing_key ("
	" key INTEGER PRIMARY KEY CHECK (key > 0),"
	" public_key BLOB NOT NULL CHECK (length(public_key) = 32),"
	" reason TEXT NOT NULL,"
	" at_utc_ns INTEGER NOT NULL,"
	" by_uid INTEGER NOT NULL,"
	" by_name TEXT NOT NULL"
	") STRICT;"
	"CREATE TABLE loss ("
	" loss INTEGER PRIMARY KEY,"
	" press TEXT NOT NULL,"
	" from_utc_ns INTEGER NOT NULL,"
	" to_utc_ns INTEGER NOT NULL,"
	" reading_count INTEGER NOT NULL CHECK (reading_count >= 0),"
	" loading_count INTEGER NOT NULL CHECK (loading_count >= 0),"
	" reason TEXT NOT NULL"
	") STRICT;";

/* Anew, since a seal may now be of something else than a run. The rows stay as they were. */
static const char seals_3[] =
	"CREATE TABLE seal_3 ("
	" seal INTEGER PRIMARY KEY CHECK (seal > 0),"
	" subject TEXT NOT NULL,"
	" number INTEGER NOT NULL,"
	" run INTEGER UNIQUE REFERENCES run_outcome (run)"
	"  CHECK (CASE subject WHEN 'run' THEN run = number ELSE run IS NULL END),"
	" run_count INTEGER NOT NULL,"
	" version INTEGER NOT NULL,"
	" previous BLOB NOT NULL CHECK (length(previous) = 32),"
	" parts BLOB NOT NULL,"
	" hash BLOB NOT NULL CHECK (length(hash) = 32),"
	" key INTEGER REFERENCES signing_key (key),"
	" signature BLOB NOT NULL CHECK (length(signature) = iif(key IS NULL, 0, 64)),"
	" UNIQUE (subject, number)"
	") STRICT;"
	"INSERT INTO seal_3 SELECT seal, 'run', run, run, seal, version, previous, parts,"
	" hash, NULL, X''"
	" FROM seal;"
	"DROP TABLE seal;"
	"PRAGMA legacy_alter_table = ON;"
	"ALTER TABLE seal_3 RENAME TO seal;"
	"PRAGMA legacy_alter_table = OFF;";

/* -1: versions 1 and 2 did not count the samples. */
static const char outcomes_3[] =
	"ALTER TABLE run_outcome ADD COLUMN sample_count INTEGER NOT NULL DEFAULT -1;"
	"CREATE INDEX run_outcome_by_strength ON run_outcome (strength_pa);"
	"CREATE INDEX run_outcome_by_maximum ON run_outcome (maximum_un);";

static const char summary_3[] =
	"DROP VIEW run_summary;"
	"CREATE VIEW run_summary AS SELECT"
	" run.run, run.press, ifnull(run_specimen.specimen, '') AS specimen,"
	" ifnull(run_specimen.set_name, '') AS set_name, run.method,"
	" strftime('%Y-%m-%dT%H:%M:%fZ', run.started_utc_ns / 1e9, 'unixepoch') AS started,"
	" run_outcome.ending, run_outcome.maximum_un / 1e6 AS maximum_n,"
	" run_outcome.strength_pa / 1e6 AS strength_mpa, run_outcome.strength_reported,"
	" run_rate.verdict, run_rate.reason, run_rate.mean_pa_s / 1e6 AS mean_mpa_s,"
	" run_outcome.reading_count,"
	" (SELECT type FROM fracture WHERE fracture.run = run.run"
	"  ORDER BY fracture DESC LIMIT 1) AS fracture,"
	" ifnull((SELECT kind = 'void' FROM run_correction WHERE run_correction.run = run.run"
	"  AND kind <> 'specimen' ORDER BY number DESC LIMIT 1), 0) AS voided,"
	" (SELECT corrected_outcome.strength_reported FROM run_correction"
	"  JOIN corrected_outcome USING (number) WHERE run_correction.run = run.run"
	"  ORDER BY number DESC LIMIT 1) AS strength_corrected"
	" FROM run LEFT JOIN run_specimen USING (run) LEFT JOIN run_outcome USING (run)"
	" LEFT JOIN run_rate ON run_rate.run = run.run AND run_rate.other = 0;";

/* The 256 bytes in their order: where one is found in them says its value. */
#define BYTES \
	"000102030405060708090A0B0C0D0E0F101112131415161718191A1B1C1D1E1F" \
	"202122232425262728292A2B2C2D2E2F303132333435363738393A3B3C3D3E3F" \
	"404142434445464748494A4B4C4D4E4F505152535455565758595A5B5C5D5E5F" \
	"606162636465666768696A6B6C6D6E6F707172737475767778797A7B7C7D7E7F" \
	"808182838485868788898A8B8C8D8E8F909192939495969798999A9B9C9D9E9F" \
	"A0A1A2A3A4A5A6A7A8A9AAABACADAEAFB0B1B2B3B4B5B6B7B8B9BABBBCBDBEBF" \
	"C0C1C2C3C4C5C6C7C8C9CACBCCCDCECFD0D1D2D3D4D5D6D7D8D9DADBDCDDDEDF" \
	"E0E1E2E3E4E5E6E7E8E9EAEBECEDEEEFF0F1F2F3F4F5F6F7F8F9FAFBFCFDFEFF"

/* u, read as a signed number. */
#define SIGNED "CASE u & 1 WHEN 0 THEN u >> 1 ELSE -(u >> 1) - 1 END"

/* The readings, unpacked in plain SQL by the rules of docs/database.md. `walk` takes one byte a
 * step: u is the number so far, `last` says that its last byte is in it, `kind` which number of the
 * chunk it is: 0 version, 1 count, 2 to 5 a group, 6 time, 7 step, 8 mantissa, 9 and 10 their
 * differences; one that is whole takes effect in the step after. */
static const char readings_3[] =
	"CREATE VIEW reading AS"
	" SELECT chunk.run, chunk.seq, chunk.cell, item.key AS position,"
	" json_extract(item.value, '$[0]') AS time_mono_ns,"
	" (json_extract(item.value, '$[0]') - run.origin_mono_ns) / 1e9 AS time_s,"
	" json_extract(item.value, '$[1]') AS mantissa,"
	" json_extract(item.value, '$[2][1]') AS exponent,"
	" CASE json_extract(item.value, '$[2][2]') WHEN 0 THEN '' WHEN 1 THEN 'N' WHEN 2 THEN 'kN'"
	"  WHEN 3 THEN 'MN' WHEN 4 THEN 'kgf' WHEN 5 THEN 'tf' WHEN 6 THEN 'lbf'"
	" WHEN 7 THEN 'kip' END"
	"  AS unit,"
	" json_extract(item.value, '$[2][3]') AS status,"
	" json_extract(item.value, '$[1]') *"
	"  CAST('1e' || json_extract(item.value, '$[2][1]') AS REAL) AS value"
	" FROM chunk JOIN run USING (run), json_each(("
	" WITH RECURSIVE walk (at, u, shift, last, kind, size, filled, groups, i, time,"
	" step, digits,"
	"  emit) AS ("
	"  SELECT 0, 0, 0, 1, -1, 0, 0, '', -1, 0, 0, 0, 0"
	"  UNION ALL"
	"  SELECT at + 1,"
	"   CASE last WHEN 1 THEN 0 ELSE u END + (((instr(X'" BYTES "',"
	"    substr(chunk.readings, at + 1, 1)) - 1) & 127)"
	" << CASE last WHEN 1 THEN 0 ELSE shift END),"
	"   CASE last WHEN 1 THEN 7 ELSE shift + 7 END,"
	"   substr(chunk.readings, at + 1, 1) < X'80',"
	"   CASE WHEN NOT last THEN kind WHEN kind = 5 THEN iif(filled < size, 2, 6)"
	"    WHEN kind = 10 THEN 9 ELSE kind + 1 END,"
	"   CASE WHEN last AND kind = 1 THEN u ELSE size END,"
	"   CASE WHEN last AND kind = 2 THEN filled + u ELSE filled END,"
	"   CASE WHEN NOT last THEN groups"
	"    WHEN kind = 2 THEN groups || iif(filled, ',', '') || '[' || filled"
	"    WHEN kind = 3 THEN groups || ',' || (" SIGNED ")"
	"    WHEN kind = 4 THEN groups || ',' || u"
	"    WHEN kind = 5 THEN groups || ',' || u || ']' ELSE groups END,"
	"   i + (last AND kind IN (8, 10)),"
	"   CASE WHEN last AND kind IN (6, 9) THEN time + step + (" SIGNED ") ELSE time END,"
	"   CASE WHEN last AND kind = 7 THEN " SIGNED " ELSE step END,"
	"   CASE WHEN last AND kind IN (8, 10) THEN digits + (" SIGNED ") ELSE digits END,"
	"   last AND kind IN (8, 10)"
	"  FROM walk WHERE at <= length(chunk.readings) - 8"
	" )"
	" SELECT json_group_array(json_array(time, digits, json((SELECT value"
	"  FROM json_each('[' || groups || ']') WHERE json_extract(value, '$[0]') <= i"
	"  ORDER BY key DESC LIMIT 1)))) FROM walk WHERE emit"
	")) AS item;";
// clang-format on

static const struct schema_guard guards_3[] = {
	{"signing_key", "key = NEW.key", false},
	{"specimen_correction", "correction = NEW.correction", false},
	{"run_correction", "number = NEW.number", false},
	{"corrected_specimen", "number = NEW.number", false},
	{"corrected_outcome", "number = NEW.number", false},
	{"corrected_rate", "number = NEW.number AND other = NEW.other", false},
	{"loss", "loss = NEW.loss", false},
	{"seal", "seal = NEW.seal OR (subject = NEW.subject AND number = NEW.number)", false},
};

enum store_status schema_step_3(struct store *store)
{
	static const char *const texts[] = {
		corrections_3, keys_3, seals_3, outcomes_3, summary_3, readings_3};
	enum store_status status = STORE_OK;

	for (size_t i = 0; i < sizeof(texts) / sizeof(texts[0]) && status == STORE_OK; i++)
		status = sql_run(store, texts[i]);
	for (size_t i = 0; i < sizeof(guards_3) / sizeof(guards_3[0]) && status == STORE_OK; i++)
		status = schema_guard(store, &guards_3[i]);
	return status;
}
