/* SPDX-License-Identifier: MIT
 *
 * Reading runs back. Lists are answered by indexes; a whole run is restored bit for bit.
 */
#include "store/columns.h"
#include "store/method_texts.h"
#include "store/policies.h"
#include "store/seal.h"
#include "store/sql.h"

#include "base/text.h"

#include <assert.h>
#include <string.h>

#define VOIDED \
	" ifnull((SELECT kind = 'void' FROM run_correction WHERE run_correction.run = run.run" \
	"  AND kind <> 'specimen' ORDER BY number DESC LIMIT 1), 0)"
/* The columns of a struct run_row; those after "closed" are only there when it is. */
#define ROW_COLUMNS \
	"SELECT run.run, run.press, run.method, run.started_utc_ns," \
	" ifnull(run_specimen.specimen, ''), ifnull(run_specimen.set_name, '')," \
	" ifnull((SELECT type FROM fracture WHERE fracture.run = run.run" \
	"  ORDER BY fracture DESC LIMIT 1), 0)," \
	" ifnull(run_outcome.reading_count," \
	"  (SELECT ifnull(sum(reading_count), 0) FROM chunk WHERE chunk.run = run.run))," \
	" ifnull(run_press.standing, 'unknown'), ifnull(run_press.verification, 0)," \
	" ifnull(run_press.verified_utc_ns, 0), ifnull(run_press.due_utc_ns, 0)," \
	" ifnull(run_press.verified_low_un, 0), ifnull(run_press.verified_high_un, 0)," \
	" ifnull(run_press.standing_note, '')," VOIDED "," \
	" (SELECT count(*) FROM run_correction WHERE run_correction.run = run.run)," \
	" run_outcome.run IS NOT NULL, run_outcome.ending, run_outcome.maximum_un," \
	" run_outcome.strength_pa, run_outcome.strength_reported, run_rate.verdict," \
	" run_outcome.sample_count, (SELECT max(number) FROM run_correction" \
	"  WHERE run_correction.run = run.run AND kind = 'specimen') AS corrected"
/* Those of a struct rate_row. */
#define RATE_COLUMNS \
	"SELECT run_outcome.run IS NOT NULL, run.press, ifnull(run_specimen.set_name, '')," \
	" ifnull((SELECT by_name FROM fracture WHERE fracture.run = run.run" \
	"  ORDER BY fracture DESC LIMIT 1), ''), run.started_utc_ns," VOIDED "," \
	" run_outcome.ending, run_outcome.strength_pa, run_rate.verdict, run_rate.band_low_pa_s," \
	" run_rate.band_high_pa_s, run_rate.mean_pa_s, run_rate.lowest_pa_s," \
	" run_rate.highest_pa_s, run_rate.window_ns"
#define ROW_TABLES \
	" FROM run LEFT JOIN run_specimen ON run_specimen.run = run.run" \
	" LEFT JOIN run_press ON run_press.run = run.run" \
	" LEFT JOIN run_outcome ON run_outcome.run = run.run" \
	" LEFT JOIN run_rate ON run_rate.run = run.run AND run_rate.other = 0"

static void take_verdict(struct sql *sql, enum verdict *verdict)
{
	char text[STORE_NAME_SIZE];

	sql_take_text(sql, text, sizeof(text));
	if (sql->status == STORE_OK && text[0] && !verdict_parse(text, verdict))
		sql_damaged(sql, "a word that this program does not know");
}

static void take_end(struct sql *sql, enum end *end)
{
	char text[STORE_NAME_SIZE];

	sql_take_text(sql, text, sizeof(text));
	if (sql->status == STORE_OK && !end_parse(text, end))
		sql_damaged(sql, "a word that this program does not know");
}

static void take_words(struct sql *sql, struct run_row *row)
{
	take_end(sql, &row->end);
	row->maximum_un = sql_take_integer(sql);
	row->strength_pa = sql_take_real(sql);
	sql_take_text(sql, row->strength_reported, sizeof(row->strength_reported));
	take_verdict(sql, &row->verdict);
}

/* The newest correction of the specimen, and what came of it. */
static enum store_status load_corrected(struct store *store, int64_t number, struct run_row *row)
{
	struct sql sql;

	sql_start(&sql, store,
		"SELECT specimen, set_name, strength_pa, strength_reported, verdict"
		" FROM corrected_specimen JOIN corrected_outcome USING (number)"
		" JOIN corrected_rate USING (number) WHERE number = ? AND other = 0");
	sql_put_integer(&sql, number);
	row->corrected = sql_next(&sql);
	if (row->corrected) {
		sql_take_text(&sql, row->specimen_corrected, sizeof(row->specimen_corrected));
		sql_take_text(&sql, row->set_corrected, sizeof(row->set_corrected));
		row->strength_corrected_pa = sql_take_real(&sql);
		sql_take_text(&sql, row->strength_corrected, sizeof(row->strength_corrected));
		take_verdict(&sql, &row->verdict_corrected);
	}
	return sql_finish(&sql);
}

static void take_row(struct sql *sql, struct run_row *row)
{
	memset(row, 0, sizeof(*row));
	row->run = sql_take_integer(sql);
	sql_take_text(sql, row->press, sizeof(row->press));
	sql_take_text(sql, row->method, sizeof(row->method));
	row->started.ns = sql_take_integer(sql);
	sql_take_text(sql, row->specimen, sizeof(row->specimen));
	sql_take_text(sql, row->set, sizeof(row->set));
	row->fracture = (int)sql_take_integer(sql);
	row->reading_count = sql_take_integer(sql);
	columns_take(sql, columns_standing, &row->standing);
	row->voided = sql_take_integer(sql) != 0;
	row->correction_count = sql_take_integer(sql);
	row->closed = sql_take_integer(sql) != 0;
	if (!row->closed)
		return;
	take_words(sql, row);
	row->sample_count = sql_take_integer(sql);
	if (sql_next_is_null(sql))
		return;
	int64_t correction = sql_take_integer(sql);
	if (sql->status == STORE_OK)
		sql->status = load_corrected(sql->store, correction, row);
}

/* Runs whose specimen was that by what was seated, or by any correction. Takes its text twice. */
#define ALSO_CORRECTED(column) \
	"run.run IN (SELECT run FROM run_specimen WHERE " column " = ?" \
	" UNION SELECT run FROM corrected_specimen JOIN run_correction USING (number)" \
	" WHERE " column " = ?)"

struct condition {
	bool given;
	const char *sql;
	int times;        /* how often its value is put */
	const char *text; /* NULL: number */
	int64_t number;
};

enum { CONDITIONS = 7 };

static void list_conditions(const struct run_filter *filter, struct condition *list)
{
	const char *verdict = verdict_text(filter->verdict);
	const struct condition conditions[CONDITIONS] = {
		{filter->press[0] != '\0', "run.press = ?", 1, filter->press, 0},
		{filter->specimen[0] != '\0', ALSO_CORRECTED("specimen"), 2, filter->specimen, 0},
		{filter->set[0] != '\0', ALSO_CORRECTED("set_name"), 2, filter->set, 0},
		{filter->from.ns != 0, "run.started_utc_ns >= ?", 1, NULL, filter->from.ns},
		{filter->before.ns != 0, "run.started_utc_ns < ?", 1, NULL, filter->before.ns},
		{filter->verdict != VERDICT_NONE, "run_rate.verdict = ?", 1, verdict, 0},
		{filter->after_run != 0, "run.run > ?", 1, NULL, filter->after_run},
	};

	memcpy(list, conditions, sizeof(conditions));
}

/* What the list is sorted by. The run's number is taken from the table whose index finds the rows:
 * SQLite does not see that it is the same number in each, and would sort a million runs to show
 * twenty. */
static const char *order_column(const struct run_filter *filter)
{
	switch (filter->sort) {
	case SORT_STARTED:
		return "run.started_utc_ns";
	case SORT_MAXIMUM:
		return "run_outcome.maximum_un";
	case SORT_STRENGTH:
		return "run_outcome.strength_pa";
	case SORT_RUN:
		break;
	}
	if (filter->specimen[0] != '\0' || filter->set[0] != '\0')
		return "run.run";
	return filter->verdict != VERDICT_NONE ? "run_rate.run" : "run.run";
}

/* Starts a listing of these columns; the filter must stay until sql_finish. */
static void start_rows(
	struct sql *sql, struct store *store, const char *columns, const struct run_filter *filter)
{
	struct condition conditions[CONDITIONS];
	char buffer[SQL_TEXT_SIZE];
	struct text text;

	list_conditions(filter, conditions);
	text_init(&text, buffer, sizeof(buffer));
	text_format(&text, "%s" ROW_TABLES " WHERE 1", columns);
	for (size_t i = 0; i < CONDITIONS; i++) {
		if (conditions[i].given) {
			text_put(&text, " AND ");
			text_put(&text, conditions[i].sql);
		}
	}
	/* Only closed runs have one: without this the rows would have to be sorted. */
	if (filter->sort == SORT_MAXIMUM || filter->sort == SORT_STRENGTH)
		text_put(&text, " AND +run_outcome.run > 0");
	text_put(&text, " ORDER BY ");
	text_put(&text, order_column(filter));
	text_put(&text, filter->newest_first ? " DESC LIMIT ?" : " LIMIT ?");
	assert(!text.overflow);
	sql_start(sql, store, buffer);
	for (size_t i = 0; i < CONDITIONS; i++) {
		for (int time = 0; conditions[i].given && time < conditions[i].times; time++) {
			if (conditions[i].text)
				sql_put_text(sql, conditions[i].text);
			else
				sql_put_integer(sql, conditions[i].number);
		}
	}
	sql_put_integer(sql, filter->limit ? (int64_t)filter->limit : -1);
}

enum store_status store_runs_each(
	struct store *store, const struct run_filter *filter, store_row_take *take, void *context)
{
	struct run_row row;
	bool more = true;
	struct sql sql;

	start_rows(&sql, store, ROW_COLUMNS, filter);
	while (more && sql_next(&sql)) {
		take_row(&sql, &row);
		more = sql.status == STORE_OK && take(context, &row);
	}
	return sql_finish(&sql);
}

static void take_rate_row(struct sql *sql, struct rate_row *row)
{
	sql_take_text(sql, row->press, sizeof(row->press));
	sql_take_text(sql, row->set, sizeof(row->set));
	sql_take_text(sql, row->technician, sizeof(row->technician));
	row->started.ns = sql_take_integer(sql);
	row->voided = sql_take_integer(sql) != 0;
	take_end(sql, &row->end);
	row->strength_pa = sql_take_real(sql);
	take_verdict(sql, &row->verdict);
	row->band_low_pa_s = sql_take_real(sql);
	row->band_high_pa_s = sql_take_real(sql);
	row->mean_pa_s = sql_take_real(sql);
	row->lowest_pa_s = sql_take_real(sql);
	row->highest_pa_s = sql_take_real(sql);
	row->window_ns = sql_take_integer(sql);
}

enum store_status store_rates_each(
	struct store *store, const struct run_filter *filter, store_rate_take *take, void *context)
{
	bool more = true;
	struct sql sql;

	start_rows(&sql, store, RATE_COLUMNS, filter);
	while (more && sql_next(&sql)) {
		struct rate_row row = {.verdict = VERDICT_NONE};
		if (!sql_take_integer(&sql))
			continue;
		take_rate_row(&sql, &row);
		more = sql.status == STORE_OK && take(context, &row);
	}
	return sql_finish(&sql);
}

static enum store_status load_start(struct store *store, int64_t run, struct run_start *start)
{
	int64_t policy = 0, cell_count = 0;
	struct sql sql;

	columns_start_select(
		&sql, store, columns_run, ", policy, cell_count FROM run WHERE run = ?");
	sql_put_integer(&sql, run);
	bool found = sql_next(&sql);
	if (found) {
		columns_take(&sql, columns_run, start);
		policy = sql_take_integer(&sql);
		cell_count = sql_take_integer(&sql);
		if (cell_count < 1 || cell_count > SUM_CELLS_MAX)
			sql_damaged(&sql, "an impossible number of cells");
	}
	enum store_status status = sql_finish_one(&sql, found);
	if (status != STORE_OK)
		return status;
	start->cell_count = (size_t)cell_count;
	status = method_texts_load(store, run, start->method, &start->judged_by);
	if (status != STORE_OK)
		return status;
	if (start->judged_by)
		method_plan_complete(start->judged_by, &start->plan);
	return policies_load(store, policy, &start->plan.policy);
}

static enum store_status load_specimen(struct store *store, int64_t run, struct run_start *start)
{
	struct sql sql;

	columns_start_select(&sql, store, columns_specimen, "FROM run_specimen WHERE run = ?");
	sql_put_integer(&sql, run);
	start->has_specimen = sql_next(&sql);
	if (start->has_specimen)
		columns_take(&sql, columns_specimen, &start->specimen);
	return sql_finish(&sql);
}

static enum store_status load_cells(struct store *store, int64_t run, struct run_start *start)
{
	size_t count = 0;
	struct sql sql;

	columns_start_select(
		&sql, store, columns_cell, ", cell FROM run_cell WHERE run = ? ORDER BY cell");
	sql_put_integer(&sql, run);
	for (; count < start->cell_count && sql_next(&sql); count++) {
		columns_take(&sql, columns_cell, &start->cells[count]);
		if (sql_take_integer(&sql) != (int64_t)count)
			sql_damaged(&sql, "another cell than the next one");
	}
	enum store_status status = sql_finish(&sql);
	if (status == STORE_OK && count != start->cell_count)
		return sql_error(store, STORE_CORRUPT,
			"%s: run %lld: a row of run_cell is missing: run the audit", store->path,
			(long long)run);
	return status;
}

static enum store_status load_places(
	struct store *store, int64_t run, struct press_watch_plan *watch)
{
	size_t count = 0;
	struct sql sql;

	columns_start_select(
		&sql, store, columns_place, "FROM run_place WHERE run = ? ORDER BY cell");
	sql_put_integer(&sql, run);
	for (; count < watch->place_count && sql_next(&sql); count++)
		columns_take(&sql, columns_place, &watch->places[count]);
	enum store_status status = sql_finish(&sql);
	if (status == STORE_OK && count != watch->place_count)
		return sql_error(store, STORE_CORRUPT,
			"%s: run %lld: a row of run_place is missing: run the audit", store->path,
			(long long)run);
	return status;
}

/* Runs of version 1 have no such row: their press was not watched. */
static enum store_status load_press(struct store *store, int64_t run, struct run_start *start)
{
	struct sql sql;

	columns_start_select(&sql, store, columns_press, "FROM run_press WHERE run = ?");
	sql_put_integer(&sql, run);
	bool found = sql_next(&sql);
	if (found) {
		columns_take(&sql, columns_press, start);
		if (start->watch.place_count > SUM_CELLS_MAX)
			sql_damaged(&sql, "an impossible number of places");
	} else {
		start->standing.kind = STANDING_UNKNOWN;
	}
	enum store_status status = sql_finish(&sql);
	return status == STORE_OK && found ? load_places(store, run, &start->watch) : status;
}

static enum store_status load_thrust(struct store *store, int64_t run, struct outcome *outcome)
{
	struct sql sql;

	columns_start_select(&sql, store, columns_thrust, "FROM run_thrust WHERE run = ?");
	sql_put_integer(&sql, run);
	if (sql_next(&sql))
		columns_take(&sql, columns_thrust, outcome);
	return sql_finish(&sql);
}

static enum store_status load_rate(struct store *store, int64_t run, bool other, struct rate *rate)
{
	struct sql sql;

	columns_start_select(
		&sql, store, columns_rate, "FROM run_rate WHERE run = ? AND other = ?");
	sql_put_integer(&sql, run);
	sql_put_integer(&sql, other);
	bool found = sql_next(&sql);
	if (found)
		columns_take(&sql, columns_rate, rate);
	enum store_status status = sql_finish(&sql);
	if (status == STORE_OK && !found)
		return sql_error(store, STORE_CORRUPT,
			"%s: run %lld: a row of run_rate is missing: run the audit", store->path,
			(long long)run);
	return status;
}

static enum store_status load_events(struct store *store, int64_t run, struct judgement *judgement)
{
	size_t count = 0;
	struct sql sql;

	columns_start_select(
		&sql, store, columns_event, "FROM run_event WHERE run = ? ORDER BY seq");
	sql_put_integer(&sql, run);
	for (; count < judgement->event_count && sql_next(&sql); count++)
		columns_take(&sql, columns_event, &judgement->events[count]);
	enum store_status status = sql_finish(&sql);
	if (status == STORE_OK && count != judgement->event_count)
		return sql_error(store, STORE_CORRUPT,
			"%s: run %lld: a row of run_event is missing: run the audit", store->path,
			(long long)run);
	return status;
}

static enum store_status load_outcome(struct store *store, struct run_record *record)
{
	struct outcome *outcome = &record->outcome;
	int64_t run = record->row.run;
	struct sql sql;

	outcome->method = record->start.judged_by;
	columns_start_select(
		&sql, store, columns_outcome, ", ended_utc_ns FROM run_outcome WHERE run = ?");
	sql_put_integer(&sql, run);
	bool found = sql_next(&sql);
	if (found) {
		columns_take(&sql, columns_outcome, outcome);
		record->ended.ns = sql_take_integer(&sql);
		if (outcome->judgement.event_count > JUDGE_EVENTS_MAX)
			sql_damaged(&sql, "an impossible number of events");
	}
	enum store_status status = sql_finish_one(&sql, found);
	if (status == STORE_OK)
		status = load_rate(store, run, false, &outcome->judgement.rate);
	if (status == STORE_OK)
		status = load_rate(store, run, true, &outcome->judgement.rate_other);
	if (status == STORE_OK)
		status = load_events(store, run, &outcome->judgement);
	if (status == STORE_OK)
		status = load_thrust(store, run, outcome);
	return status;
}

#define FRACTURE_SELECT \
	"SELECT type, crack_um, note, at_utc_ns, by_uid, by_name FROM fracture WHERE run = ?"

static void take_fracture(struct sql *sql, struct fracture_row *row)
{
	row->type = (int)sql_take_integer(sql);
	row->crack_um = sql_take_integer(sql);
	sql_take_text(sql, row->note, sizeof(row->note));
	row->at.ns = sql_take_integer(sql);
	row->by.uid = (uint32_t)sql_take_integer(sql);
	sql_take_text(sql, row->by.name, sizeof(row->by.name));
}

static enum store_status load_fracture(struct store *store, int64_t run, struct fracture_row *row)
{
	struct sql sql;

	sql_start(&sql, store, FRACTURE_SELECT " ORDER BY fracture DESC LIMIT 1");
	sql_put_integer(&sql, run);
	if (sql_next(&sql))
		take_fracture(&sql, row);
	return sql_finish(&sql);
}

enum store_status store_fractures_each(
	struct store *store, int64_t run, store_fracture_take *take, void *context)
{
	struct fracture_row row;
	bool more = true;
	struct sql sql;

	sql_start(&sql, store, FRACTURE_SELECT " ORDER BY fracture");
	sql_put_integer(&sql, run);
	while (more && sql_next(&sql)) {
		take_fracture(&sql, &row);
		more = sql.status == STORE_OK && take(context, &row);
	}
	return sql_finish(&sql);
}

static enum store_status load_row(struct store *store, int64_t run, struct run_row *row)
{
	struct sql sql;

	sql_start(&sql, store, ROW_COLUMNS ROW_TABLES " WHERE run.run = ?");
	sql_put_integer(&sql, run);
	bool found = sql_next(&sql);
	if (found)
		take_row(&sql, row);
	enum store_status status = sql_finish_one(&sql, found);
	if (status == STORE_NONE)
		return sql_error(store, status, "there is no run %lld", (long long)run);
	return status;
}

enum store_status store_run_load(struct store *store, int64_t run, struct run_record *record)
{
	struct seal seal;

	memset(record, 0, sizeof(*record));
	enum store_status status = load_row(store, run, &record->row);
	if (status == STORE_OK)
		status = load_start(store, run, &record->start);
	if (status == STORE_OK)
		status = load_specimen(store, run, &record->start);
	if (status == STORE_OK)
		status = load_cells(store, run, &record->start);
	if (status == STORE_OK)
		status = load_press(store, run, &record->start);
	if (status == STORE_OK && record->row.closed)
		status = load_outcome(store, record);
	if (status == STORE_OK)
		status = load_fracture(store, run, &record->fracture);
	if (status != STORE_OK || !record->row.closed)
		return status;
	/* A run can be shown whatever became of its seal: that is the audit's to say. */
	if (seal_find(store, SEAL_RUN, run, &seal) == STORE_OK)
		memcpy(record->seal, seal.hash, sizeof(record->seal));
	return STORE_OK;
}

/* Hands out the readings of the chunk in the present row; false: stop. */
static bool take_chunk(
	struct sql *sql, int64_t run, int64_t expected, store_reading_take *take, void *context)
{
	struct reading readings[CHUNK_READINGS_MAX];
	const char *wrong = NULL;
	size_t size, count = 0;
	bool more = true;

	int64_t seq = sql_take_integer(sql);
	int64_t cell = sql_take_integer(sql);
	int64_t announced = sql_take_integer(sql);
	const unsigned char *bytes = sql_take_blob(sql, &size);
	if (sql->status != STORE_OK)
		return false;
	enum chunk_error error = chunk_decode(bytes, size, readings, &count);
	if (seq != expected)
		wrong = "is missing";
	else if (error != CHUNK_OK)
		wrong = chunk_error_text(error);
	else if (announced != (int64_t)count || cell < 0 || cell >= SUM_CELLS_MAX)
		wrong = "does not agree with its row";
	if (wrong) {
		sql->status = sql_error(sql->store, STORE_CORRUPT,
			"%s: run %lld: chunk %lld of its readings %s", sql->store->path,
			(long long)run, (long long)expected, wrong);
		return false;
	}
	for (size_t i = 0; i < count && more; i++)
		more = take(context, (size_t)cell, &readings[i]);
	return more;
}

enum store_status store_readings_each(
	struct store *store, int64_t run, store_reading_take *take, void *context)
{
	bool more = true;
	struct sql sql;

	sql_start(&sql, store,
		"SELECT seq, cell, reading_count, readings FROM chunk WHERE run = ? ORDER BY seq");
	sql_put_integer(&sql, run);
	for (int64_t seq = 0; more && sql_next(&sql); seq++)
		more = take_chunk(&sql, run, seq, take, context);
	return sql_finish(&sql);
}

enum store_status store_run_seal(struct store *store, int64_t run, struct run_seal *seal)
{
	struct seal found;

	*seal = (struct run_seal){.key = 0};
	enum store_status status = seal_find(store, SEAL_RUN, run, &found);
	if (status != STORE_OK)
		return status;
	seal->number = found.number;
	seal->version = found.version;
	memcpy(seal->previous, found.previous, sizeof(seal->previous));
	memcpy(seal->hash, found.hash, sizeof(seal->hash));
	memcpy(seal->signature, found.signature, sizeof(seal->signature));
	seal->key = found.key;
	seal->is_signed = found.key != 0;
	return seal->is_signed ? seal_public_key(store, found.key, seal->public_key) : STORE_OK;
}
