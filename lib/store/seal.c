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

/* The version from which on seals are of anything, and signed. */
enum { SIGNED_FROM = 3 };

struct part {
	const char *name;
	const char *query;
};

/* ---- the layouts: which queries make up a subject. None that was released ever changes; whoever
 * adds a column or a table makes a new version of its subject. */

// clang-format off
static const struct part part_run = {"run",
	"SELECT run, seat, policy, cell_count, press, method, program, started_utc_ns,"
	" origin_mono_ns, boot_id, capacity_un, area_m2, rate_unit_pa, band_low_unit_s,"
	" band_high_unit_s, span_from_fraction, span_to_fraction, window_ns,"
	" anticipated_load_un, basis_anticipated, contact_un, alignment_un"
	" FROM run WHERE run = ?"};
static const struct part part_policy = {"policy",
	"SELECT policy, since_utc_ns, name, value, unit"
	" FROM policy JOIN policy_value USING (policy)"
	" WHERE policy = (SELECT policy FROM run WHERE run = ?) ORDER BY name"};
static const struct part part_run_seat = {"seat",
	"SELECT seat.seat, press, seat.at_utc_ns, seat.by_uid, seat.by_name, number, specimen,"
	" set_name, shape, width_1_um, width_2_um, length_um, cast_utc_ns, anticipated_pa,"
	" method, chosen_rate_pa_s, specimen.at_utc_ns, specimen.by_uid, specimen.by_name"
	" FROM seat JOIN specimen USING (specimen)"
	" WHERE seat = (SELECT seat FROM run WHERE run = ?)"};
static const struct part part_run_specimen = {"run_specimen",
	"SELECT specimen, set_name, shape, width_1_um, width_2_um, length_um, cast_utc_ns,"
	" anticipated_pa, method, chosen_rate_pa_s FROM run_specimen WHERE run = ?"};
static const struct part part_run_cell = {"run_cell",
	"SELECT cell, name, device, decoder, unit, factor_mantissa, factor_exponent, zero_un"
	" FROM run_cell WHERE run = ? ORDER BY cell"};
static const struct part part_chunk = {"chunk",
	"SELECT number, seq, cell, reading_count, readings FROM chunk WHERE run = ? ORDER BY seq"};
static const struct part part_run_outcome_1 = {"run_outcome",
	"SELECT ended_utc_ns, reading_count, ending, maximum_un, maximum_mono_ns, basis, area_m2,"
	" correction, strength_pa, strength_reported, event_count, event_total"
	" FROM run_outcome WHERE run = ?"};
static const struct part part_run_outcome = {"run_outcome",
	"SELECT ended_utc_ns, reading_count, sample_count, ending, maximum_un, maximum_mono_ns,"
	" basis, area_m2, correction, strength_pa, strength_reported, event_count, event_total"
	" FROM run_outcome WHERE run = ?"};
static const struct part part_run_rate = {"run_rate",
	"SELECT other, basis, verdict, reason, band_low_pa_s, band_high_pa_s, from_mono_ns,"
	" to_mono_ns, mean_pa_s, lowest_pa_s, highest_pa_s, window_ns, uncertainty_pa_s,"
	" outside_ns, worst_mono_ns FROM run_rate WHERE run = ? ORDER BY other"};
static const struct part part_run_event = {"run_event",
	"SELECT seq, kind, time_mono_ns, load_un, text FROM run_event WHERE run = ? ORDER BY seq"};
static const struct part part_specimen = {"specimen",
	"SELECT number, specimen, set_name, shape, width_1_um, width_2_um, length_um, cast_utc_ns,"
	" anticipated_pa, method, chosen_rate_pa_s,"
	" at_utc_ns, by_uid, by_name FROM specimen WHERE number = ?"};
static const struct part part_seat = {"seat",
	"SELECT seat, press, specimen, at_utc_ns, by_uid, by_name FROM seat WHERE seat = ?"};
static const struct part part_fracture = {"fracture",
	"SELECT fracture, run, type, note, at_utc_ns, by_uid, by_name FROM fracture"
	" WHERE fracture = ?"};
static const struct part part_specimen_correction = {"specimen_correction",
	"SELECT correction, specimen, set_name, shape, width_1_um, width_2_um, length_um,"
	" cast_utc_ns,"
	" anticipated_pa, method, chosen_rate_pa_s,"
	" reason, at_utc_ns, by_uid, by_name FROM specimen_correction WHERE correction = ?"};
static const struct part part_run_correction = {"run_correction",
	"SELECT number, run, kind, reason, at_utc_ns, by_uid, by_name FROM run_correction"
	" WHERE number = ?"};
static const struct part part_corrected_specimen = {"corrected_specimen",
	"SELECT specimen, set_name, shape, width_1_um, width_2_um, length_um, cast_utc_ns,"
	" anticipated_pa, method, chosen_rate_pa_s"
	" FROM corrected_specimen WHERE number = ?"};
static const struct part part_corrected_outcome = {"corrected_outcome",
	"SELECT ending, maximum_un, maximum_mono_ns, basis, area_m2, correction, strength_pa,"
	" strength_reported, event_count, event_total FROM corrected_outcome WHERE number = ?"};
static const struct part part_corrected_rate = {"corrected_rate",
	"SELECT other, basis, verdict, reason, band_low_pa_s, band_high_pa_s, from_mono_ns,"
	" to_mono_ns, mean_pa_s, lowest_pa_s, highest_pa_s, window_ns, uncertainty_pa_s,"
	" outside_ns, worst_mono_ns FROM corrected_rate WHERE number = ? ORDER BY other"};
static const struct part part_key = {"signing_key",
	"SELECT key, public_key, reason, at_utc_ns, by_uid, by_name FROM signing_key"
	" WHERE key = ?"};
static const struct part part_loss = {"loss",
	"SELECT loss, press, from_utc_ns, to_utc_ns, reading_count, loading_count, reason"
	" FROM loss WHERE loss = ?"};
static const struct part part_run_press = {"run_press",
	"SELECT zero_limit_un, drift_limit_un, has_zero_before, zero_before_un,"
	" thrust_limit_um, thrust_least_un, block_um, block_square, place_count, standing,"
	" run_press.verification, run_press.verified_utc_ns, due_utc_ns, verified_low_un,"
	" verified_high_un, standing_note, press, verification.verified_utc_ns, guided,"
	" certificate, reference, capacity_un, increment_un, resolution_un, return_1_un,"
	" return_2_un, force_count, low_un, high_un, worst_percent, repeatability_percent,"
	" passed, reason, at_utc_ns, by_uid, by_name"
	" FROM run_press LEFT JOIN verification USING (verification) WHERE run = ?"};
static const struct part part_run_place = {"run_place",
	"SELECT cell, x_um, y_um FROM run_place WHERE run = ? ORDER BY cell"};
static const struct part part_run_thrust = {"run_thrust",
	"SELECT known, x_um, y_um, worst_um, worst_mono_ns FROM run_thrust WHERE run = ?"};
static const struct part part_verification = {"verification",
	"SELECT verification, press, verified_utc_ns, guided, certificate, reference, capacity_un,"
	" increment_un, resolution_un, return_1_un, return_2_un, force_count, low_un, high_un,"
	" worst_percent, repeatability_percent, passed, reason, at_utc_ns, by_uid, by_name"
	" FROM verification WHERE verification = ?"};
static const struct part part_verification_force = {"verification_force",
	"SELECT seq, true_1_un, true_2_un, indicated_1_un, indicated_2_un, error_1_percent,"
	" error_2_percent FROM verification_force WHERE verification = ? ORDER BY seq"};
static const struct part part_upkeep = {"upkeep",
	"SELECT upkeep, press, kind, happened_utc_ns, note, at_utc_ns, by_uid, by_name FROM upkeep"
	" WHERE upkeep = ?"};
static const struct part part_zero = {"zero",
	"SELECT zero, press, cell, unit, factor_mantissa, factor_exponent, zero_un, before_un,"
	" note, at_utc_ns, by_uid, by_name FROM zero WHERE zero = ?"};
static const struct part part_run_method = {"run_method",
	"SELECT method, name, text, since_utc_ns FROM run_method JOIN method_text USING (method)"
	" WHERE run = ?"};
static const struct part part_confirmation = {"method_confirmation",
	"SELECT confirmation, method, name, text, since_utc_ns, edition, note, at_utc_ns, by_uid,"
	" by_name FROM method_confirmation JOIN method_text USING (method)"
	" WHERE confirmation = ?"};
static const struct part part_detail = {"specimen_detail",
	"SELECT number, specimen, intended_age_ns, mass_mg, ends, pad, pad_hardness,"
	" out_of_square_udeg, out_of_plane_um, moist, reduced FROM specimen_detail"
	" WHERE number = ?"};
static const struct part part_detail_6 = {"specimen_detail",
	"SELECT number, specimen, intended_age_ns, mass_mg, ends, pad, pad_hardness,"
	" out_of_square_udeg, out_of_plane_um, moist, reduced, lot, reason, at_utc_ns, by_uid,"
	" by_name FROM specimen_detail WHERE number = ?"};
static const struct part part_measure = {"specimen_measure",
	"SELECT what, seq, value_um FROM specimen_measure WHERE number = ? ORDER BY what, seq"};
static const struct part part_terms = {"set_terms",
	"SELECT terms, set_name, series, rule, specified_pa, sigma_pa, field, at_utc_ns, by_uid,"
	" by_name FROM set_terms WHERE terms = ?"};
static const struct part part_fracture_6 = {"fracture",
	"SELECT fracture, run, type, note, crack_um, at_utc_ns, by_uid, by_name FROM fracture"
	" WHERE fracture = ?"};
static const struct part part_report = {"report",
	"SELECT report, is_set, subject, issued_utc_ns, laboratory, customer, reviewer, field,"
	" replaces, reason, format, hash, run_count, at_utc_ns, by_uid, by_name FROM report"
	" WHERE report = ?"};
static const struct part part_report_run = {"report_run",
	"SELECT seq, run, seal FROM report_run WHERE report = ? ORDER BY seq"};

static const struct layout {
	enum seal_subject subject;
	int version;
	const struct part *parts[SEAL_PARTS_MAX + 1];
} layouts[] = { /* the newest version of a subject first: seals are made with it */
	{SEAL_RUN, 4, {&part_run, &part_policy, &part_run_seat, &part_run_specimen,
		&part_run_cell, &part_chunk, &part_run_outcome, &part_run_rate, &part_run_event,
		&part_run_press, &part_run_place, &part_run_thrust, &part_run_method}},
	{SEAL_RUN, 3, {&part_run, &part_policy, &part_run_seat, &part_run_specimen,
		&part_run_cell, &part_chunk, &part_run_outcome, &part_run_rate, &part_run_event,
		&part_run_press, &part_run_place, &part_run_thrust}},
	{SEAL_RUN, 2, {&part_run, &part_policy, &part_run_seat, &part_run_specimen,
		&part_run_cell, &part_chunk, &part_run_outcome_1, &part_run_rate, &part_run_event,
		&part_run_press, &part_run_place, &part_run_thrust}},
	{SEAL_RUN, 1, {&part_run, &part_policy, &part_run_seat, &part_run_specimen,
		&part_run_cell, &part_chunk, &part_run_outcome_1, &part_run_rate, &part_run_event}},
	{SEAL_SPECIMEN, 3, {&part_specimen}},
	{SEAL_SEAT, 3, {&part_seat}},
	{SEAL_FRACTURE, 6, {&part_fracture_6}},
	{SEAL_FRACTURE, 3, {&part_fracture}},
	{SEAL_SPECIMEN_CORRECTION, 3, {&part_specimen_correction}},
	{SEAL_RUN_CORRECTION, 3, {&part_run_correction, &part_corrected_specimen,
		&part_corrected_outcome, &part_corrected_rate}},
	{SEAL_KEY, 3, {&part_key}},
	{SEAL_LOSS, 3, {&part_loss}},
	{SEAL_VERIFICATION, 3, {&part_verification, &part_verification_force}},
	{SEAL_UPKEEP, 3, {&part_upkeep}},
	{SEAL_ZERO, 3, {&part_zero}},
	{SEAL_CONFIRMATION, 4, {&part_confirmation}},
	{SEAL_DETAIL, 6, {&part_detail_6, &part_measure}},
	{SEAL_DETAIL, 4, {&part_detail}},
	{SEAL_TERMS, 6, {&part_terms}},
	{SEAL_REPORT, 7, {&part_report, &part_report_run}},
};
// clang-format on

/* A subject is called by its table. */
static const char *const subjects[SEAL_SUBJECTS] = {
	[SEAL_RUN] = "run",
	[SEAL_SPECIMEN] = "specimen",
	[SEAL_SEAT] = "seat",
	[SEAL_FRACTURE] = "fracture",
	[SEAL_SPECIMEN_CORRECTION] = "specimen_correction",
	[SEAL_RUN_CORRECTION] = "run_correction",
	[SEAL_KEY] = "signing_key",
	[SEAL_LOSS] = "loss",
	[SEAL_VERIFICATION] = "verification",
	[SEAL_UPKEEP] = "upkeep",
	[SEAL_ZERO] = "zero",
	[SEAL_CONFIRMATION] = "method_confirmation",
	[SEAL_DETAIL] = "specimen_detail",
	[SEAL_TERMS] = "set_terms",
	[SEAL_REPORT] = "report",
};

const char *seal_subject_text(enum seal_subject subject)
{
	assert(subject < SEAL_SUBJECTS);
	return subjects[subject];
}

/* version 0: the newest. NULL: this program does not know it. */
static const struct layout *find_layout(enum seal_subject subject, int version)
{
	for (size_t i = 0; i < sizeof(layouts) / sizeof(layouts[0]); i++) {
		if (layouts[i].subject == subject &&
			(version == 0 || layouts[i].version == version))
			return &layouts[i];
	}
	return NULL;
}

const char *seal_part_name(const struct seal *seal, size_t part)
{
	const struct layout *layout = find_layout(seal->subject, seal->version);

	assert(layout && part < SEAL_PARTS_MAX && layout->parts[part]);
	return layout->parts[part]->name;
}

/* ---- hashing */

/* The bytes that are hashed, shown to whoever wants them too. */
struct hasher {
	crypto_generichash_state state;
	store_sealed_take *take; /* NULL: nobody */
	void *context;
	const char *part;
};

static void hash_start(
	struct hasher *hasher, const char *part, store_sealed_take *take, void *context)
{
	hasher->part = part;
	hasher->take = take;
	hasher->context = context;
	crypto_generichash_init(&hasher->state, NULL, 0, STORE_SEAL_SIZE);
}

static void hash_add(struct hasher *hasher, const void *bytes, size_t size)
{
	crypto_generichash_update(&hasher->state, bytes, size);
	if (hasher->take)
		hasher->take(hasher->context, hasher->part, bytes, size);
}

/* A letter for the type, then the number's 64 bits, most significant byte first. */
static void hash_number(struct hasher *hasher, char type, uint64_t value)
{
	unsigned char bytes[9] = {(unsigned char)type};

	for (int i = 0; i < 8; i++)
		bytes[1 + i] = (unsigned char)(value >> (56 - 8 * i));
	hash_add(hasher, bytes, sizeof(bytes));
}

static void hash_bytes(struct hasher *hasher, char type, const void *bytes, size_t size)
{
	hash_number(hasher, type, size);
	if (size > 0)
		hash_add(hasher, bytes, size);
}

static void hash_column(struct hasher *hasher, sqlite3_stmt *row, int column)
{
	double real;
	uint64_t bits;
	size_t size;

	switch (sqlite3_column_type(row, column)) {
	case SQLITE_INTEGER:
		hash_number(hasher, 'i', (uint64_t)sqlite3_column_int64(row, column));
		break;
	case SQLITE_FLOAT:
		real = sqlite3_column_double(row, column);
		memcpy(&bits, &real, sizeof(bits));
		hash_number(hasher, 'r', bits);
		break;
	case SQLITE_TEXT: {
		const unsigned char *text = sqlite3_column_text(row, column);
		size = (size_t)sqlite3_column_bytes(row, column);
		hash_bytes(hasher, 't', text, size);
		break;
	}
	case SQLITE_BLOB: {
		const void *blob = sqlite3_column_blob(row, column);
		size = (size_t)sqlite3_column_bytes(row, column);
		hash_bytes(hasher, 'b', blob, size);
		break;
	}
	default:
		hash_number(hasher, 'n', 0);
	}
}

static enum store_status hash_part(struct store *store, const struct part *part, int64_t row,
	struct hasher *hasher, unsigned char hash[STORE_SEAL_SIZE])
{
	struct sql sql;

	hash_bytes(hasher, 't', part->name, strlen(part->name));
	sql_start(&sql, store, part->query);
	sql_put_integer(&sql, row);
	while (sql_next(&sql)) {
		int columns = sqlite3_column_count(sql.statement);
		for (int column = 0; column < columns; column++)
			hash_column(hasher, sql.statement, column);
	}
	crypto_generichash_final(&hasher->state, hash, STORE_SEAL_SIZE);
	return sql_finish(&sql);
}

static enum store_status hash_parts(
	struct store *store, struct seal *seal, store_sealed_take *take, void *context)
{
	const struct layout *layout = find_layout(seal->subject, seal->version);
	enum store_status status = STORE_OK;
	struct hasher hasher;

	assert(layout);
	for (seal->part_count = 0; layout->parts[seal->part_count] && status == STORE_OK;
		seal->part_count++) {
		const struct part *part = layout->parts[seal->part_count];
		hash_start(&hasher, part->name, take, context);
		status = hash_part(store, part, seal->row, &hasher,
			seal->parts + seal->part_count * STORE_SEAL_SIZE);
	}
	return status;
}

enum store_status seal_parts(struct store *store, struct seal *seal)
{
	return hash_parts(store, seal, NULL, NULL);
}

static void hash_whole(const struct seal *seal, store_sealed_take *take, void *context,
	unsigned char hash[STORE_SEAL_SIZE])
{
	static const char name[] = "ramplog seal";
	const char *subject = seal_subject_text(seal->subject);
	struct hasher hasher;

	hash_start(&hasher, "seal", take, context);
	hash_bytes(&hasher, 't', name, sizeof(name) - 1);
	hash_number(&hasher, 'i', (uint64_t)seal->version);
	hash_number(&hasher, 'i', (uint64_t)seal->number);
	if (seal->version >= SIGNED_FROM)
		hash_bytes(&hasher, 't', subject, strlen(subject));
	hash_number(&hasher, 'i', (uint64_t)seal->row);
	if (seal->version >= SIGNED_FROM) {
		hash_number(&hasher, 'i', (uint64_t)seal->run_count);
		hash_number(&hasher, 'i', (uint64_t)seal->key);
	}
	hash_bytes(&hasher, 'b', seal->previous, STORE_SEAL_SIZE);
	hash_bytes(&hasher, 'b', seal->parts, seal->part_count * STORE_SEAL_SIZE);
	crypto_generichash_final(&hasher.state, hash, STORE_SEAL_SIZE);
}

void seal_hash(const struct seal *seal, unsigned char hash[STORE_SEAL_SIZE])
{
	hash_whole(seal, NULL, NULL, hash);
}

enum store_status store_run_sealed(
	struct store *store, int64_t run, store_sealed_take *take, void *context)
{
	unsigned char hash[STORE_SEAL_SIZE];
	struct seal seal;
	enum store_status status = seal_find(store, SEAL_RUN, run, &seal);

	if (status == STORE_OK)
		status = hash_parts(store, &seal, take, context);
	if (status == STORE_OK)
		hash_whole(&seal, take, context, hash);
	return status;
}

bool seal_signature_fits(
	const struct seal *seal, const unsigned char public_key[STORE_PUBLIC_KEY_SIZE])
{
	return crypto_sign_verify_detached(
		       seal->signature, seal->hash, STORE_SEAL_SIZE, public_key) == 0;
}

/* ---- adding */

static enum store_status insert(struct store *store, const struct seal *seal)
{
	struct sql sql;

	sql_start(&sql, store,
		"INSERT INTO seal (seal, subject, number, run, run_count, version, previous, parts,"
		" hash, key, signature) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
	sql_put_integer(&sql, seal->number);
	sql_put_text(&sql, seal_subject_text(seal->subject));
	sql_put_integer(&sql, seal->row);
	if (seal->subject == SEAL_RUN)
		sql_put_integer(&sql, seal->row);
	else
		sql_put_null(&sql);
	sql_put_integer(&sql, seal->run_count);
	sql_put_integer(&sql, seal->version);
	sql_put_blob(&sql, seal->previous, sizeof(seal->previous));
	sql_put_blob(&sql, seal->parts, seal->part_count * STORE_SEAL_SIZE);
	sql_put_blob(&sql, seal->hash, sizeof(seal->hash));
	sql_put_integer(&sql, seal->key);
	sql_put_blob(&sql, seal->signature, sizeof(seal->signature));
	return sql_finish(&sql);
}

enum store_status seal_add(struct store *store, enum seal_subject subject, int64_t row)
{
	struct seal seal, last;

	assert(store->transaction && store->key > 0);
	enum store_status status = seal_at(store, 0, &last);
	if (status != STORE_OK && status != STORE_NONE)
		return status;
	seal = (struct seal){
		.number = last.number + 1,
		.subject = subject,
		.row = row,
		.run_count = last.run_count + (subject == SEAL_RUN),
		.version = find_layout(subject, 0)->version,
		.key = store->key,
	};
	memcpy(seal.previous, last.hash, sizeof(seal.previous));
	status = seal_parts(store, &seal);
	if (status != STORE_OK)
		return status;
	seal_hash(&seal, seal.hash);
	crypto_sign_detached(seal.signature, NULL, seal.hash, STORE_SEAL_SIZE, store->secret_key);
	return insert(store, &seal);
}

enum store_status seal_add_last(struct store *store, enum seal_subject subject)
{
	return seal_add(store, subject, sqlite3_last_insert_rowid(store->db));
}

/* ---- reading */

static void take_bytes(struct sql *sql, unsigned char *bytes, size_t size)
{
	size_t found;
	const unsigned char *blob = sql_take_blob(sql, &found);

	if (blob && found == size)
		memcpy(bytes, blob, size);
	else
		sql_damaged(sql, "a hash of another length");
}

static void take_parts(struct sql *sql, struct seal *seal)
{
	size_t found;
	const unsigned char *blob = sql_take_blob(sql, &found);

	seal->part_count = found / STORE_SEAL_SIZE;
	if (blob && found % STORE_SEAL_SIZE == 0 && found <= sizeof(seal->parts))
		memcpy(seal->parts, blob, found);
	else
		sql_damaged(sql, "hashes of another length");
}

static void take_subject(struct sql *sql, struct seal *seal)
{
	char text[STORE_NAME_SIZE];
	size_t i = 0;

	sql_take_text(sql, text, sizeof(text));
	while (i < SEAL_SUBJECTS && strcmp(subjects[i], text) != 0)
		i++;
	if (i == SEAL_SUBJECTS)
		sql_damaged(sql, "a word that this program does not know");
	else
		seal->subject = (enum seal_subject)i;
}

static void take_seal(struct sql *sql, struct seal *seal)
{
	seal->number = sql_take_integer(sql);
	take_subject(sql, seal);
	seal->row = sql_take_integer(sql);
	if (sql_take_integer(sql) != (seal->subject == SEAL_RUN ? seal->row : 0))
		sql_damaged(sql, "another run than its own");
	seal->run_count = sql_take_integer(sql);
	int64_t version = sql_take_integer(sql);
	if (version < 1 || version > INT32_MAX || !find_layout(seal->subject, (int)version))
		sql_damaged(sql, "a version that this program does not know");
	else
		seal->version = (int)version;
	seal->key = sql_take_integer(sql);
	take_bytes(sql, seal->previous, sizeof(seal->previous));
	take_parts(sql, seal);
	take_bytes(sql, seal->hash, sizeof(seal->hash));
	if (seal->key > 0)
		take_bytes(sql, seal->signature, sizeof(seal->signature));
}

#define SEAL_SELECT \
	"SELECT seal, subject, number, ifnull(run, 0), run_count, version, ifnull(key, 0), " \
	"previous," \
	" parts, hash, signature FROM seal "

enum store_status seal_find(
	struct store *store, enum seal_subject subject, int64_t row, struct seal *seal)
{
	struct sql sql;

	memset(seal, 0, sizeof(*seal));
	sql_start(&sql, store, SEAL_SELECT "WHERE subject = ? AND number = ?");
	sql_put_text(&sql, seal_subject_text(subject));
	sql_put_integer(&sql, row);
	bool found = sql_next(&sql);
	if (found)
		take_seal(&sql, seal);
	return sql_finish_one(&sql, found);
}

enum store_status seal_at(struct store *store, int64_t number, struct seal *seal)
{
	struct sql sql;

	memset(seal, 0, sizeof(*seal));
	if (number == 0) {
		sql_start(&sql, store, SEAL_SELECT "ORDER BY seal DESC LIMIT 1");
	} else {
		sql_start(&sql, store, SEAL_SELECT "WHERE seal = ?");
		sql_put_integer(&sql, number);
	}
	bool found = sql_next(&sql);
	if (found)
		take_seal(&sql, seal);
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
