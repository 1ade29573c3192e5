/* SPDX-License-Identifier: MIT
 *
 * The bytes that are hashed come from the rows as SQLite gives them back, not from the structs in
 * memory: what is sealed is what is stored. Each part has its own hash, kept with the seal, so that
 * the audit can name the table in which something was changed. The queries of a version never
 * change once a run was sealed with them; a new column needs a new version.
 */
#include "store/seal.h"

#include <assert.h>
#include <sodium.h>
#include <string.h>

_Static_assert(STORE_SEAL_SIZE == crypto_generichash_BYTES, "BLAKE2b-256");

struct part {
	const char *name;
	const char *query;
};

/* Version 1 has those before run_press. */
static const struct part parts[SEAL_PARTS] = {
	{"run", "SELECT run, seat, policy, cell_count, press, method, program, started_utc_ns,"
		" origin_mono_ns, boot_id, capacity_un, area_m2, rate_unit_pa, band_low_unit_s,"
		" band_high_unit_s, span_from_fraction, span_to_fraction, window_ns,"
		" anticipated_load_un, basis_anticipated, contact_un, alignment_un FROM run WHERE "
		"run = ?"},
	{"policy", "SELECT policy, since_utc_ns, name, value, unit FROM policy JOIN policy_value "
		   "USING (policy)"
		   " WHERE policy = (SELECT policy FROM run WHERE run = ?) ORDER BY name"},
	{"seat", "SELECT seat.seat, press, seat.at_utc_ns, seat.by_uid, seat.by_name, number, "
		 "specimen,"
		 " set_name, shape, width_1_um, width_2_um, length_um, cast_utc_ns, anticipated_pa,"
		 " method, chosen_rate_pa_s, specimen.at_utc_ns, specimen.by_uid, specimen.by_name"
		 " FROM seat JOIN specimen USING (specimen)"
		 " WHERE seat = (SELECT seat FROM run WHERE run = ?)"},
	{"run_specimen",
		"SELECT specimen, set_name, shape, width_1_um, width_2_um, length_um, cast_utc_ns,"
		" anticipated_pa, method, chosen_rate_pa_s FROM run_specimen WHERE run = ?"},
	{"run_cell", "SELECT cell, name, device, decoder, unit, factor_mantissa, factor_exponent, "
		     "zero_un"
		     " FROM run_cell WHERE run = ? ORDER BY cell"},
	{"chunk", "SELECT number, seq, cell, reading_count, readings FROM chunk WHERE run = ? "
		  "ORDER BY seq"},
	{"run_outcome", "SELECT ended_utc_ns, reading_count, ending, maximum_un, maximum_mono_ns, "
			"basis, area_m2,"
			" correction, strength_pa, strength_reported, event_count, event_total"
			" FROM run_outcome WHERE run = ?"},
	{"run_rate",
		"SELECT other, basis, verdict, reason, band_low_pa_s, band_high_pa_s, from_mono_ns,"
		" to_mono_ns, mean_pa_s, lowest_pa_s, highest_pa_s, window_ns, uncertainty_pa_s,"
		" outside_ns, worst_mono_ns FROM run_rate WHERE run = ? ORDER BY other"},
	{"run_event", "SELECT seq, kind, time_mono_ns, load_un, text FROM run_event WHERE run = ? "
		      "ORDER BY seq"},
	{"run_press",
		"SELECT zero_limit_un, drift_limit_un, has_zero_before, zero_before_un,"
		" thrust_limit_um, thrust_least_un, block_um, block_square, place_count, standing,"
		" run_press.verification, run_press.verified_utc_ns, due_utc_ns, verified_low_un,"
		" verified_high_un, standing_note, press, verification.verified_utc_ns, guided,"
		" certificate, reference, capacity_un, increment_un, resolution_un, return_1_un,"
		" return_2_un, force_count, low_un, high_un, worst_percent, repeatability_percent,"
		" passed, reason, at_utc_ns, by_uid, by_name"
		" FROM run_press LEFT JOIN verification USING (verification) WHERE run = ?"},
	{"run_place", "SELECT cell, x_um, y_um FROM run_place WHERE run = ? ORDER BY cell"},
	{"run_thrust",
		"SELECT known, x_um, y_um, worst_um, worst_mono_ns FROM run_thrust WHERE run = ?"},
};

enum { PARTS_1 = 9 };

size_t seal_part_count(int version)
{
	return version == 1 ? PARTS_1 : SEAL_PARTS;
}

const char *seal_part_name(size_t part)
{
	assert(part < SEAL_PARTS);
	return parts[part].name;
}

static void hash_start(crypto_generichash_state *state)
{
	crypto_generichash_init(state, NULL, 0, STORE_SEAL_SIZE);
}

/* A letter for the type, then the number's 64 bits, most significant byte first. */
static void hash_number(crypto_generichash_state *state, char type, uint64_t value)
{
	unsigned char bytes[9] = {(unsigned char)type};

	for (int i = 0; i < 8; i++)
		bytes[1 + i] = (unsigned char)(value >> (56 - 8 * i));
	crypto_generichash_update(state, bytes, sizeof(bytes));
}

static void hash_bytes(crypto_generichash_state *state, char type, const void *bytes, size_t size)
{
	hash_number(state, type, size);
	if (size > 0)
		crypto_generichash_update(state, bytes, size);
}

static void hash_column(crypto_generichash_state *state, sqlite3_stmt *row, int column)
{
	double real;
	uint64_t bits;
	size_t size;

	switch (sqlite3_column_type(row, column)) {
	case SQLITE_INTEGER:
		hash_number(state, 'i', (uint64_t)sqlite3_column_int64(row, column));
		break;
	case SQLITE_FLOAT:
		real = sqlite3_column_double(row, column);
		memcpy(&bits, &real, sizeof(bits));
		hash_number(state, 'r', bits);
		break;
	case SQLITE_TEXT: {
		const unsigned char *text = sqlite3_column_text(row, column);
		size = (size_t)sqlite3_column_bytes(row, column);
		hash_bytes(state, 't', text, size);
		break;
	}
	case SQLITE_BLOB: {
		const void *blob = sqlite3_column_blob(row, column);
		size = (size_t)sqlite3_column_bytes(row, column);
		hash_bytes(state, 'b', blob, size);
		break;
	}
	default:
		hash_number(state, 'n', 0);
	}
}

static enum store_status hash_part(struct store *store, const struct part *part, int64_t run,
	unsigned char hash[STORE_SEAL_SIZE])
{
	crypto_generichash_state state;
	struct sql sql;

	hash_start(&state);
	hash_bytes(&state, 't', part->name, strlen(part->name));
	sql_start(&sql, store, part->query);
	sql_put_integer(&sql, run);
	while (sql_next(&sql)) {
		int columns = sqlite3_column_count(sql.statement);
		for (int column = 0; column < columns; column++)
			hash_column(&state, sql.statement, column);
	}
	crypto_generichash_final(&state, hash, STORE_SEAL_SIZE);
	return sql_finish(&sql);
}

enum store_status seal_parts(
	struct store *store, int64_t run, int version, unsigned char hashes[SEAL_PARTS_SIZE])
{
	enum store_status status = STORE_OK;

	for (size_t i = 0; i < seal_part_count(version) && status == STORE_OK; i++)
		status = hash_part(store, &parts[i], run, hashes + i * STORE_SEAL_SIZE);
	return status;
}

void seal_hash(const struct seal *seal, unsigned char hash[STORE_SEAL_SIZE])
{
	static const char name[] = "ramplog seal";
	crypto_generichash_state state;

	hash_start(&state);
	hash_bytes(&state, 't', name, sizeof(name) - 1);
	hash_number(&state, 'i', (uint64_t)seal->version);
	hash_number(&state, 'i', (uint64_t)seal->number);
	hash_number(&state, 'i', (uint64_t)seal->run);
	hash_bytes(&state, 'b', seal->previous, STORE_SEAL_SIZE);
	hash_bytes(&state, 'b', seal->parts, seal_part_count(seal->version) * STORE_SEAL_SIZE);
	crypto_generichash_final(&state, hash, STORE_SEAL_SIZE);
}

enum store_status seal_add(struct store *store, int64_t run)
{
	struct seal seal = {.run = run, .version = SEAL_VERSION};
	struct sql sql;
	int64_t last = 0;

	enum store_status status =
		sql_integer(store, "SELECT ifnull(max(seal), 0) FROM seal", &last);
	if (status == STORE_OK)
		status = seal_hash_of(store, last, seal.previous);
	if (status == STORE_OK)
		status = seal_parts(store, run, SEAL_VERSION, seal.parts);
	if (status != STORE_OK)
		return status;
	seal.number = last + 1;
	seal_hash(&seal, seal.hash);
	sql_start(&sql, store,
		"INSERT INTO seal (seal, run, version, previous, parts, hash)"
		" VALUES (?, ?, ?, ?, ?, ?)");
	sql_put_integer(&sql, seal.number);
	sql_put_integer(&sql, run);
	sql_put_integer(&sql, SEAL_VERSION);
	sql_put_blob(&sql, seal.previous, sizeof(seal.previous));
	sql_put_blob(&sql, seal.parts, sizeof(seal.parts));
	sql_put_blob(&sql, seal.hash, sizeof(seal.hash));
	return sql_finish(&sql);
}

static void take_bytes(struct sql *sql, unsigned char *bytes, size_t size)
{
	size_t found;
	const unsigned char *blob = sql_take_blob(sql, &found);

	if (blob && found == size)
		memcpy(bytes, blob, size);
	else
		sql_damaged(sql, "a hash of another length");
}

enum store_status seal_find(struct store *store, int64_t run, struct seal *seal)
{
	struct sql sql;

	memset(seal, 0, sizeof(*seal));
	sql_start(&sql, store,
		"SELECT seal, run, version, previous, parts, hash FROM seal WHERE run = ?");
	sql_put_integer(&sql, run);
	bool found = sql_next(&sql);
	if (found) {
		seal->number = sql_take_integer(&sql);
		seal->run = sql_take_integer(&sql);
		int64_t version = sql_take_integer(&sql);
		if (version < 1 || version > SEAL_VERSION)
			sql_damaged(&sql, "a version that this program does not know");
		seal->version = version == 1 ? 1 : SEAL_VERSION;
		take_bytes(&sql, seal->previous, sizeof(seal->previous));
		take_bytes(&sql, seal->parts, seal_part_count(seal->version) * STORE_SEAL_SIZE);
		take_bytes(&sql, seal->hash, sizeof(seal->hash));
	}
	return sql_finish_one(&sql, found);
}

enum store_status seal_hash_of(
	struct store *store, int64_t number, unsigned char hash[STORE_SEAL_SIZE])
{
	struct sql sql;

	memset(hash, 0, STORE_SEAL_SIZE);
	if (number == 0)
		return STORE_OK;
	sql_start(&sql, store, "SELECT hash FROM seal WHERE seal = ?");
	sql_put_integer(&sql, number);
	bool found = sql_next(&sql);
	if (found)
		take_bytes(&sql, hash, STORE_SEAL_SIZE);
	return sql_finish_one(&sql, found);
}
