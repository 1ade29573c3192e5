/* SPDX-License-Identifier: MIT
 *
 * A run being written: opened, filled with readings, closed and sealed. Nothing of it is ever
 * changed: that it is over is a row in run_outcome, that it is sealed one in seal.
 */
#include "store/columns.h"
#include "store/method_texts.h"
#include "store/policies.h"
#include "store/seal.h"
#include "store/sql.h"

#include <assert.h>

/* The newest unused seat of that press with that specimen; STORE_NONE: nobody seated it. */
static enum store_status find_seat(
	struct store *store, const char *press, const char *specimen, int64_t *seat)
{
	struct sql sql;

	sql_start(&sql, store,
		"SELECT seat FROM seat WHERE press = ? AND specimen = ?"
		" AND NOT EXISTS (SELECT 1 FROM run WHERE run.seat = seat.seat)"
		" ORDER BY seat DESC LIMIT 1");
	sql_put_text(&sql, press);
	sql_put_text(&sql, specimen);
	bool found = sql_next(&sql);
	if (found)
		*seat = sql_take_integer(&sql);
	return sql_finish_one(&sql, found);
}

static enum store_status add_run(
	struct store *store, const struct run_start *start, int64_t run, int64_t policy)
{
	enum store_status status = STORE_NONE;
	int64_t seat = 0;
	struct sql sql;

	if (start->has_specimen)
		status = find_seat(store, start->press, start->specimen.id, &seat);
	if (status != STORE_OK && status != STORE_NONE)
		return status;
	columns_start_insert(&sql, store, "run", "run, seat, policy, cell_count", columns_run);
	sql_put_integer(&sql, run);
	if (status == STORE_OK)
		sql_put_integer(&sql, seat);
	else
		sql_put_null(&sql);
	sql_put_integer(&sql, policy);
	sql_put_integer(&sql, (int64_t)start->cell_count);
	columns_put(&sql, columns_run, start);
	return sql_finish(&sql);
}

/* One row of a table whose first column is the run and whose second, if named, is a number. */
static enum store_status add_row(struct store *store, const char *table, const char *keys,
	int64_t run, size_t second, const struct column *columns, const void *record)
{
	struct sql sql;

	columns_start_insert(&sql, store, table, keys, columns);
	sql_put_integer(&sql, run);
	if (keys[3] == ',') /* "run, ..." */
		sql_put_integer(&sql, (int64_t)second);
	columns_put(&sql, columns, record);
	return sql_finish(&sql);
}

enum store_status store_run_open(struct store *store, const struct run_start *start, int64_t *run)
{
	int64_t policy = 0;

	assert(store->transaction);
	assert(start->judged_by);
	assert(start->cell_count >= 1 && start->cell_count <= SUM_CELLS_MAX);
	/* Rows are never deleted: numbers have no holes, and a hole is a sign of tampering. */
	enum store_status status =
		sql_integer(store, "SELECT ifnull(max(run), 0) + 1 FROM run", run);
	if (status == STORE_OK)
		status = policies_add(store, &start->plan.policy, start->started, &policy);
	if (status == STORE_OK)
		status = add_run(store, start, *run, policy);
	if (status == STORE_OK)
		status = method_texts_add(store, *run, start->judged_by, start->started);
	if (status == STORE_OK && start->has_specimen)
		status = add_row(
			store, "run_specimen", "run", *run, 0, columns_specimen, &start->specimen);
	for (size_t i = 0; i < start->cell_count && status == STORE_OK; i++)
		status = add_row(
			store, "run_cell", "run, cell", *run, i, columns_cell, &start->cells[i]);
	if (status == STORE_OK)
		status = add_row(store, "run_press", "run", *run, 0, columns_press, start);
	for (size_t i = 0; i < start->watch.place_count && status == STORE_OK; i++)
		status = add_row(store, "run_place", "run, cell", *run, i, columns_place,
			&start->watch.places[i]);
	return status;
}

static enum store_status add_chunk(
	struct store *store, int64_t run, size_t cell, int64_t seq, size_t count, size_t size)
{
	struct sql sql;

	sql_start(&sql, store,
		"INSERT INTO chunk (run, seq, cell, reading_count, readings) VALUES (?, ?, ?, ?, "
		"?)");
	sql_put_integer(&sql, run);
	sql_put_integer(&sql, seq);
	sql_put_integer(&sql, (int64_t)cell);
	sql_put_integer(&sql, (int64_t)count);
	sql_put_blob(&sql, store->blob, size);
	return sql_finish(&sql);
}

enum store_status store_readings_add(
	struct store *store, int64_t run, size_t cell, const struct reading *readings, size_t count)
{
	int64_t seq = 0;
	size_t size = 0, each = CHUNK_READINGS_MAX;
	struct sql sql;

	assert(store->transaction);
	if (count == 0)
		return STORE_OK;
	sql_start(&sql, store, "SELECT ifnull(max(seq), -1) + 1 FROM chunk WHERE run = ?");
	sql_put_integer(&sql, run);
	if (sql_next(&sql))
		seq = sql_take_integer(&sql);
	enum store_status status = sql_finish(&sql);
	while (count > 0 && status == STORE_OK) {
		size_t taken =
			chunk_encode(readings, count < each ? count : each, store->blob, &size);
		if (size > CHUNK_SIZE_GOOD && each == CHUNK_READINGS_MAX) {
			size_t parts = (size + CHUNK_SIZE_GOOD - 1) / CHUNK_SIZE_GOOD;
			each = (taken + parts - 1) / parts;
			taken = chunk_encode(readings, each, store->blob, &size);
		}
		status = add_chunk(store, run, cell, seq++, taken, size);
		readings += taken;
		count -= taken;
	}
	return status;
}

static enum store_status add_rate(
	struct store *store, int64_t run, bool other, enum basis basis, const struct rate *rate)
{
	struct sql sql;

	columns_start_insert(&sql, store, "run_rate", "run, other, basis", columns_rate);
	sql_put_integer(&sql, run);
	sql_put_integer(&sql, other);
	sql_put_text(&sql, basis_text(basis));
	columns_put(&sql, columns_rate, rate);
	return sql_finish(&sql);
}

static enum store_status add_outcome(
	struct store *store, int64_t run, const struct outcome *outcome, struct utc_time ended)
{
	int64_t reading_count = 0;
	struct sql sql;

	sql_start(&sql, store, "SELECT ifnull(sum(reading_count), 0) FROM chunk WHERE run = ?");
	sql_put_integer(&sql, run);
	if (sql_next(&sql))
		reading_count = sql_take_integer(&sql);
	enum store_status status = sql_finish(&sql);
	if (status != STORE_OK)
		return status;
	columns_start_insert(&sql, store, "run_outcome",
		"run, ended_utc_ns, reading_count, sample_count", columns_outcome);
	sql_put_integer(&sql, run);
	sql_put_integer(&sql, ended.ns);
	sql_put_integer(&sql, reading_count);
	sql_put_integer(&sql, (int64_t)outcome->judgement.sample_count);
	columns_put(&sql, columns_outcome, outcome);
	return sql_finish(&sql);
}

enum store_status store_run_close(
	struct store *store, int64_t run, const struct outcome *outcome, struct utc_time ended)
{
	const struct judgement *judgement = &outcome->judgement;
	enum basis other = judgement->basis == BASIS_MAXIMUM ? BASIS_ANTICIPATED : BASIS_MAXIMUM;

	assert(store->transaction);
	assert(judgement->event_count <= JUDGE_EVENTS_MAX);
	enum store_status status = add_outcome(store, run, outcome, ended);
	if (status == STORE_OK)
		status = add_rate(store, run, false, judgement->basis, &judgement->rate);
	if (status == STORE_OK)
		status = add_rate(store, run, true, other, &judgement->rate_other);
	for (size_t i = 0; i < judgement->event_count && status == STORE_OK; i++)
		status = add_row(store, "run_event", "run, seq", run, i, columns_event,
			&judgement->events[i]);
	if (status == STORE_OK)
		status = add_row(store, "run_thrust", "run", run, 0, columns_thrust, outcome);
	return status == STORE_OK ? seal_add(store, SEAL_RUN, run) : status;
}

enum store_status store_runs_unclosed(struct store *store, int64_t *runs, size_t max, size_t *count)
{
	struct sql sql;

	*count = 0;
	/* Runs are numbered without holes and the newest seal counts those that were sealed, so the
	 * difference says how many to look for, and they are among the newest: no scan, however
	 * many runs there are. */
	sql_start(&sql, store,
		"SELECT run FROM (SELECT run FROM run WHERE NOT EXISTS"
		" (SELECT 1 FROM run_outcome WHERE run_outcome.run = run.run) ORDER BY run DESC"
		" LIMIT (SELECT max(0, ifnull((SELECT max(run) FROM run), 0) -"
		" ifnull((SELECT run_count FROM seal ORDER BY seal DESC LIMIT 1), 0))))"
		" ORDER BY run");
	while (sql_next(&sql)) {
		int64_t run = sql_take_integer(&sql);
		if (*count < max)
			runs[*count] = run;
		++*count;
	}
	return sql_finish(&sql);
}
