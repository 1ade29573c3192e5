/* SPDX-License-Identifier: MIT
 *
 * Version 5 of the tables: no new table. The view `reading` unpacks both kinds of chunk and says
 * what each reading is in newtons; lists find a run by the specimen as corrected too.
 * Databases of this version exist: this file never changes.
 */
#include "store/schema_steps.h"

#include "base/text.h"

#include <assert.h>

// clang-format off
static const char corrected_5[] =
	"CREATE INDEX corrected_specimen_by_set ON corrected_specimen (set_name);"
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
	" corrected_specimen.specimen AS specimen_corrected,"
	" corrected_specimen.set_name AS set_corrected,"
	" corrected_outcome.strength_reported AS strength_corrected,"
	" corrected_rate.verdict AS verdict_corrected"
	" FROM run LEFT JOIN run_specimen USING (run) LEFT JOIN run_outcome USING (run)"
	" LEFT JOIN run_rate ON run_rate.run = run.run AND run_rate.other = 0"
	" LEFT JOIN corrected_specimen ON corrected_specimen.number ="
	"  (SELECT max(number) FROM run_correction WHERE run_correction.run = run.run"
	"   AND kind = 'specimen')"
	" LEFT JOIN corrected_outcome ON corrected_outcome.number = corrected_specimen.number"
	" LEFT JOIN corrected_rate ON corrected_rate.number = corrected_specimen.number"
	"  AND corrected_rate.other = 0;";

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

static const char columns_5[] =
	"DROP VIEW reading;"
	"CREATE VIEW reading AS"
	" SELECT chunk.run, chunk.seq, chunk.cell, item.key AS position,"
	" json_extract(item.value, '$[0]') AS time_mono_ns,"
	" (json_extract(item.value, '$[0]') - run.origin_mono_ns) / 1e9 AS time_s,"
	" json_extract(item.value, '$[1]') AS mantissa,"
	" json_extract(item.value, '$[4][1]') AS exponent,"
	" CASE json_extract(item.value, '$[4][2]') WHEN 0 THEN '' WHEN 1 THEN 'N' WHEN 2 THEN 'kN'"
	"  WHEN 3 THEN 'MN' WHEN 4 THEN 'kgf' WHEN 5 THEN 'tf' WHEN 6 THEN 'lbf'"
	"  WHEN 7 THEN 'kip' WHEN 8 THEN 'Pa' WHEN 9 THEN 'kPa' WHEN 10 THEN 'MPa'"
	"  WHEN 11 THEN 'bar' WHEN 12 THEN 'psi' WHEN 13 THEN 'counts' WHEN 14 THEN 'mV/V' END"
	"  AS unit,"
	" json_extract(item.value, '$[4][3]') AS status,"
	" json_extract(item.value, '$[1]') *"
	"  CAST('1e' || json_extract(item.value, '$[4][1]') AS REAL) AS value,"
	" json_extract(item.value, '$[0]') + json_extract(item.value, '$[2]') AS stamp_mono_ns,"
	" json_extract(item.value, '$[3]') AS counter,"
	" json_extract(item.value, '$[1]') *"
	"  CAST('1e' || (json_extract(item.value, '$[4][1]') + run_cell.factor_exponent) AS REAL)"
	"  * run_cell.factor_mantissa"
	"  * CASE run_cell.unit WHEN 'kN' THEN 1e3 WHEN 'MN' THEN 1e6 WHEN 'kgf' THEN 9.80665"
	"   WHEN 'tf' THEN 9806.65 WHEN 'lbf' THEN 4.4482216152605"
	"   WHEN 'kip' THEN 4448.2216152605 WHEN 'kPa' THEN 1e3 WHEN 'MPa' THEN 1e6"
	"   WHEN 'bar' THEN 1e5 WHEN 'psi' THEN 6894.7572931684 ELSE 1 END"
	"  - run_cell.zero_un / 1e6 AS load_n"
	" FROM chunk JOIN run USING (run) JOIN run_cell USING (run, cell), json_each((";
/* The readings, unpacked in plain SQL by the rules of docs/database.md. `walk` takes one byte a
 * step: u is the number so far, `last` says that its last byte is in it, `kind` which number of the
 * chunk it is: 0 version, 1 count, 2 to 5 a group, 6 time, 7 step, 8 mantissa; 11 to 14 only in
 * version 2: moved, counter, the counter's step, what follows; then of each further reading 9 time,
 * 10 mantissa, 15 moved, 16 counter. One that is whole takes effect in the step after; a reading is
 * given out with its last number. */
static const char walk_5[] =
	" WITH RECURSIVE walk (at, u, shift, last, kind, version, size, filled, groups, i, time,"
	"  step, digits, moved, count, stride, rest, emit) AS ("
	"  SELECT 0, 0, 0, 1, -1, 0, 0, 0, '', -1, 0, 0, 0, 0, 0, 0, 0, 0"
	"  UNION ALL"
	"  SELECT at + 1,"
	"   CASE last WHEN 1 THEN 0 ELSE u END + (((instr(X'" BYTES "',"
	"    substr(chunk.readings, at + 1, 1)) - 1) & 127)"
	"    << CASE last WHEN 1 THEN 0 ELSE shift END),"
	"   CASE last WHEN 1 THEN 7 ELSE shift + 7 END,"
	"   substr(chunk.readings, at + 1, 1) < X'80',"
	"   CASE WHEN NOT last THEN kind WHEN kind = 5 THEN iif(filled < size, 2, 6)"
	"    WHEN kind = 8 AND version = 2 THEN 11"
	"    WHEN kind = 10 AND rest & 1 THEN 15"
	"    WHEN kind IN (10, 15) AND rest & 2 THEN 16"
	"    WHEN kind IN (8, 10, 14, 15, 16) THEN 9 ELSE kind + 1 END,"
	"   CASE WHEN last AND kind = 0 THEN u ELSE version END,"
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
	"   CASE WHEN last AND kind IN (11, 15) THEN moved + (" SIGNED ") ELSE moved END,"
	"   CASE WHEN last AND kind IN (12, 16) THEN count + (" SIGNED ")"
	"     + iif(kind = 16, stride, 0)"
	"    WHEN last AND kind = 10 AND NOT rest & 2 THEN count + stride ELSE count END,"
	"   CASE WHEN last AND kind = 13 THEN " SIGNED " ELSE stride END,"
	"   CASE WHEN last AND kind = 14 THEN u ELSE rest END,"
	"   last AND ((kind = 8 AND version = 1) OR kind IN (14, 16)"
	"    OR (kind = 10 AND rest = 0) OR (kind = 15 AND rest = 1))"
	"  FROM walk WHERE at <= length(chunk.readings) - 8"
	" )"
	" SELECT json_group_array(json_array(time, digits, moved, count, json((SELECT value"
	"  FROM json_each('[' || groups || ']') WHERE json_extract(value, '$[0]') <= i"
	"  ORDER BY key DESC LIMIT 1)))) FROM walk WHERE emit"
	")) AS item;";
// clang-format on

enum store_status schema_step_5(struct store *store)
{
	char buffer[sizeof(columns_5) + sizeof(walk_5)];
	struct text text;

	text_init(&text, buffer, sizeof(buffer));
	text_put(&text, columns_5);
	text_put(&text, walk_5);
	assert(!text.overflow);
	enum store_status status = sql_run(store, corrected_5);
	return status == STORE_OK ? sql_run(store, buffer) : status;
}
