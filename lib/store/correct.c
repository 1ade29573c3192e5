/* SPDX-License-Identifier: MIT
 *
 * Corrections. A run whose specimen had other data is judged again from its readings with the data
 * as corrected; the new outcome is stored beside the first one, so that a list can show it and the
 * audit can derive both.
 */
#include "store/columns.h"
#include "store/replay.h"
#include "store/seal.h"
#include "store/sql.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

static const char *const kinds[] = {
	[CORRECTION_SPECIMEN] = "specimen",
	[CORRECTION_VOID] = "void",
	[CORRECTION_VALID] = "valid",
};

enum { KIND_COUNT = sizeof(kinds) / sizeof(kinds[0]) };

const char *correction_kind_text(enum correction_kind kind)
{
	return kinds[kind];
}

static void put_why(
	struct sql *sql, const char *reason, const struct actor *actor, struct utc_time now)
{
	sql_put_text(sql, reason);
	sql_put_integer(sql, now.ns);
	sql_put_integer(sql, actor->uid);
	sql_put_text(sql, actor->name);
}

static enum store_status ask_reason(struct store *store, const char *reason)
{
	return reason[0] ? STORE_OK
			 : sql_error(store, STORE_REFUSED,
				   "a correction needs a reason: say why it is made");
}

/* ---- of a run */

/* The run's record, with the specimen that counts for it now; STORE_REFUSED: not over yet. */
static enum store_status load_closed(
	struct store *store, int64_t run, struct run_record *record, struct specimen *now)
{
	enum store_status status = store_run_load(store, run, record);
	struct sql sql;

	if (status != STORE_OK)
		return status;
	if (!record->row.closed)
		return sql_error(store, STORE_REFUSED,
			"run %lld is not over yet: correct it when it is", (long long)run);
	*now = record->start.specimen; /* all zero where none was seated */
	columns_start_select(&sql, store, columns_specimen,
		"FROM run_correction JOIN corrected_specimen USING (number) WHERE run = ?"
		" ORDER BY number DESC LIMIT 1");
	sql_put_integer(&sql, run);
	if (sql_next(&sql))
		columns_take(&sql, columns_specimen, now);
	return sql_finish(&sql);
}

static enum store_status add_correction(struct store *store, int64_t run, enum correction_kind kind,
	const char *reason, const struct actor *actor, struct utc_time now, int64_t *number)
{
	struct sql sql;
	enum store_status status =
		sql_integer(store, "SELECT ifnull(max(number), 0) + 1 FROM run_correction", number);

	if (status != STORE_OK)
		return status;
	sql_start(&sql, store,
		"INSERT INTO run_correction (number, run, kind, reason, at_utc_ns, by_uid, by_name)"
		" VALUES (?, ?, ?, ?, ?, ?, ?)");
	sql_put_integer(&sql, *number);
	sql_put_integer(&sql, run);
	sql_put_text(&sql, kinds[kind]);
	put_why(&sql, reason, actor, now);
	return sql_finish(&sql);
}

static enum store_status add_columns(struct store *store, const char *table, int64_t number,
	const struct column *columns, const void *record)
{
	struct sql sql;

	columns_start_insert(&sql, store, table, "number", columns);
	sql_put_integer(&sql, number);
	columns_put(&sql, columns, record);
	return sql_finish(&sql);
}

static enum store_status add_rate(
	struct store *store, int64_t number, bool other, enum basis basis, const struct rate *rate)
{
	struct sql sql;

	columns_start_insert(&sql, store, "corrected_rate", "number, other, basis", columns_rate);
	sql_put_integer(&sql, number);
	sql_put_integer(&sql, other);
	sql_put_text(&sql, basis_text(basis));
	columns_put(&sql, columns_rate, rate);
	return sql_finish(&sql);
}

static enum store_status add_outcome(struct store *store, int64_t number,
	const struct specimen *specimen, const struct outcome *outcome)
{
	const struct judgement *judgement = &outcome->judgement;
	enum basis other = judgement->basis == BASIS_MAXIMUM ? BASIS_ANTICIPATED : BASIS_MAXIMUM;
	enum store_status status =
		add_columns(store, "corrected_specimen", number, columns_specimen, specimen);

	if (status == STORE_OK)
		status = add_columns(store, "corrected_outcome", number, columns_outcome, outcome);
	if (status == STORE_OK)
		status = add_rate(store, number, false, judgement->basis, &judgement->rate);
	if (status == STORE_OK)
		status = add_rate(store, number, true, other, &judgement->rate_other);
	return status;
}

static enum store_status judge_with(struct store *store, const struct run_record *record,
	const struct specimen *specimen, const char *reason, const struct actor *actor,
	struct utc_time now)
{
	struct replay replay;
	int64_t number = 0;
	enum store_status status = replay_with(store, record, specimen, &replay);

	if (status != STORE_OK)
		return status;
	status = add_correction(
		store, record->row.run, CORRECTION_SPECIMEN, reason, actor, now, &number);
	if (status == STORE_OK)
		status = add_outcome(store, number, specimen, &replay.outcome);
	if (status == STORE_OK)
		status = seal_add(store, SEAL_RUN_CORRECTION, number);
	replay_finish(&replay);
	return status;
}

enum store_status store_run_assign(struct store *store, int64_t run, const char *specimen_id,
	const char *reason, const struct actor *actor, struct utc_time now)
{
	struct specimen specimen, present;
	struct run_record record;

	assert(store->transaction);
	enum store_status status = ask_reason(store, reason);
	if (status == STORE_OK)
		status = load_closed(store, run, &record, &present);
	if (status != STORE_OK)
		return status;
	status = store_specimen_find(store, specimen_id, &specimen);
	if (status == STORE_NONE)
		return sql_error(store, STORE_NONE,
			"specimen %s is not registered: register it first", specimen_id);
	if (status == STORE_OK && columns_same(columns_specimen, &specimen, &present))
		return sql_error(store, STORE_REFUSED,
			"run %lld counts for specimen %s already: nothing to correct",
			(long long)run, specimen_id);
	return status == STORE_OK ? judge_with(store, &record, &specimen, reason, actor, now)
				  : status;
}

enum store_status store_run_void(struct store *store, int64_t run, bool voided, const char *reason,
	const struct actor *actor, struct utc_time now)
{
	enum correction_kind kind = voided ? CORRECTION_VOID : CORRECTION_VALID;
	struct specimen present;
	struct run_record record;
	int64_t number = 0;

	assert(store->transaction);
	enum store_status status = ask_reason(store, reason);
	if (status == STORE_OK)
		status = load_closed(store, run, &record, &present);
	if (status == STORE_OK && record.row.voided == voided)
		status = sql_error(store, STORE_REFUSED, "run %lld %s already: nothing to correct",
			(long long)run, voided ? "is voided" : "counts");
	if (status == STORE_OK)
		status = add_correction(store, run, kind, reason, actor, now, &number);
	return status == STORE_OK ? seal_add(store, SEAL_RUN_CORRECTION, number) : status;
}

/* ---- of a specimen, and of all its runs */

static enum store_status check_specimen(
	struct store *store, const struct specimen *specimen, const struct specimen *present)
{
	const struct method *method = method_find(present->method);
	struct message why = {""};

	if (columns_same(columns_specimen, specimen, present))
		return sql_error(store, STORE_REFUSED,
			"specimen %s is registered with these data: nothing to correct",
			specimen->id);
	if (strcmp(specimen->method, present->method) != 0)
		return sql_error(store, STORE_REFUSED,
			"specimen %s: the method it is tested by is %s and cannot be corrected",
			specimen->id, present->method);
	if (!method || !specimen_check(specimen, &why) ||
		!method_specimen_check(method, specimen, &why))
		return sql_error(store, STORE_REFUSED, "specimen %s: %s", specimen->id,
			method ? why.text : "its method is not known");
	return STORE_OK;
}

/* The next run above `after` that counts for the specimen; STORE_NONE: no more. */
static enum store_status next_run(struct store *store, const char *id, int64_t after, int64_t *run)
{
	struct sql sql;

	sql_start(&sql, store,
		"SELECT run FROM run WHERE run IN (SELECT run FROM run_specimen WHERE specimen = "
		"?1 UNION"
		"  SELECT run FROM run_correction JOIN corrected_specimen USING (number)"
		"  WHERE specimen = ?1)"
		" AND ifnull((SELECT specimen FROM run_correction JOIN corrected_specimen"
		"  USING (number) WHERE run_correction.run = run.run ORDER BY number DESC LIMIT 1),"
		"  (SELECT specimen FROM run_specimen WHERE run_specimen.run = run.run)) = ?1"
		" AND run > ?2 ORDER BY run LIMIT 1");
	sql_put_text(&sql, id);
	sql_put_integer(&sql, after);
	bool found = sql_next(&sql);
	if (found)
		*run = sql_take_integer(&sql);
	return sql_finish_one(&sql, found);
}

static enum store_status correct_runs(struct store *store, const struct specimen *specimen,
	const char *reason, const struct actor *actor, struct utc_time now)
{
	struct specimen present;
	struct run_record record;
	int64_t run = 0;
	enum store_status status = STORE_OK;

	while (status == STORE_OK) {
		status = next_run(store, specimen->id, run, &run);
		if (status == STORE_OK)
			status = load_closed(store, run, &record, &present);
		if (status == STORE_OK)
			status = judge_with(store, &record, specimen, reason, actor, now);
	}
	return status == STORE_NONE ? STORE_OK : status;
}

enum store_status store_specimen_correct(struct store *store, const struct specimen *specimen,
	const char *reason, const struct actor *actor, struct utc_time now)
{
	struct specimen present;
	struct sql sql;

	assert(store->transaction);
	enum store_status status = ask_reason(store, reason);
	if (status != STORE_OK)
		return status;
	status = store_specimen_find(store, specimen->id, &present);
	if (status == STORE_NONE)
		return sql_error(store, STORE_NONE, "specimen %s is not registered", specimen->id);
	if (status == STORE_OK)
		status = check_specimen(store, specimen, &present);
	if (status != STORE_OK)
		return status;
	columns_start_insert(&sql, store, "specimen_correction",
		"reason, at_utc_ns, by_uid, by_name", columns_specimen);
	put_why(&sql, reason, actor, now);
	columns_put(&sql, columns_specimen, specimen);
	status = sql_finish(&sql);
	if (status == STORE_OK)
		status = seal_add_last(store, SEAL_SPECIMEN_CORRECTION);
	return status == STORE_OK ? correct_runs(store, specimen, reason, actor, now) : status;
}

/* ---- reading them back */

static enum store_status load_rates(struct store *store, struct correction *correction)
{
	struct judgement *judgement = &correction->outcome.judgement;
	struct sql sql;

	columns_start_select(&sql, store, columns_rate,
		", other FROM corrected_rate WHERE number = ? ORDER BY other");
	sql_put_integer(&sql, correction->number);
	while (sql_next(&sql)) {
		struct rate rate;
		columns_take(&sql, columns_rate, &rate);
		*(sql_take_integer(&sql) == 0 ? &judgement->rate : &judgement->rate_other) = rate;
	}
	return sql_finish(&sql);
}

static enum store_status load_parts(struct store *store, struct correction *correction)
{
	struct sql sql;

	columns_start_select(
		&sql, store, columns_specimen, "FROM corrected_specimen WHERE number = ?");
	sql_put_integer(&sql, correction->number);
	bool found = sql_next(&sql);
	if (found)
		columns_take(&sql, columns_specimen, &correction->specimen);
	enum store_status status = sql_finish_one(&sql, found);
	if (status == STORE_OK) {
		columns_start_select(
			&sql, store, columns_outcome, "FROM corrected_outcome WHERE number = ?");
		sql_put_integer(&sql, correction->number);
		found = sql_next(&sql);
		if (found)
			columns_take(&sql, columns_outcome, &correction->outcome);
		status = sql_finish_one(&sql, found);
	}
	if (status == STORE_NONE)
		return sql_error(store, STORE_CORRUPT,
			"%s: correction %lld: what was corrected is missing: run the audit",
			store->path, (long long)correction->number);
	return status == STORE_OK ? load_rates(store, correction) : status;
}

/* The next correction of the run after correction->number; STORE_NONE: no more. */
static enum store_status load_next(struct store *store, int64_t run, struct correction *correction)
{
	assert(correction);
	int64_t after = correction->number;
	char kind[STORE_NAME_SIZE];
	size_t i = 0;
	struct sql sql;

	memset(correction, 0, sizeof(*correction));
	sql_start(&sql, store,
		"SELECT number, kind, reason, at_utc_ns, by_uid, by_name FROM run_correction"
		" WHERE run = ? AND number > ? ORDER BY number LIMIT 1");
	sql_put_integer(&sql, run);
	sql_put_integer(&sql, after);
	bool found = sql_next(&sql);
	if (found) {
		correction->number = sql_take_integer(&sql);
		sql_take_text(&sql, kind, sizeof(kind));
		while (i < KIND_COUNT && strcmp(kinds[i], kind) != 0)
			i++;
		if (i == KIND_COUNT)
			sql_damaged(&sql, "a word that this program does not know");
		correction->kind = (enum correction_kind)i;
		sql_take_text(&sql, correction->reason, sizeof(correction->reason));
		correction->at.ns = sql_take_integer(&sql);
		correction->by.uid = (uint32_t)sql_take_integer(&sql);
		sql_take_text(&sql, correction->by.name, sizeof(correction->by.name));
	}
	enum store_status status = sql_finish_one(&sql, found);
	return status == STORE_OK && correction->kind == CORRECTION_SPECIMEN
		       ? load_parts(store, correction)
		       : status;
}

enum store_status store_corrections_each(
	struct store *store, int64_t run, store_correction_take *take, void *context)
{
	struct correction *correction = calloc(1, sizeof(*correction));
	enum store_status status =
		correction ? STORE_OK : sql_error(store, STORE_IO, "memory is short");
	bool more = true;

	while (status == STORE_OK && more) {
		status = load_next(store, run, correction);
		if (status == STORE_OK)
			more = take(context, correction);
	}
	free(correction);
	return status == STORE_NONE ? STORE_OK : status;
}

enum store_status store_loss_add(struct store *store, const struct loss *loss)
{
	struct sql sql;

	assert(store->transaction);
	sql_start(&sql, store,
		"INSERT INTO loss (press, from_utc_ns, to_utc_ns, reading_count, loading_count,"
		" reason) VALUES (?, ?, ?, ?, ?, ?)");
	sql_put_text(&sql, loss->press);
	sql_put_integer(&sql, loss->from.ns);
	sql_put_integer(&sql, loss->to.ns);
	sql_put_integer(&sql, loss->reading_count);
	sql_put_integer(&sql, loss->loading_count);
	sql_put_text(&sql, loss->reason);
	enum store_status status = sql_finish(&sql);
	return status == STORE_OK ? seal_add_last(store, SEAL_LOSS) : status;
}
