/* SPDX-License-Identifier: MIT
 *
 * Sends the stored readings the way they came live: sum, judge, outcome. Those of one cell go
 * straight from the chunk; those of several are gathered first and put back into the order of their
 * times (they are stored chunk by chunk, and the sum would have to give up readings that wait too
 * long for the other cell).
 */
#include "store/replay.h"

#include "store/sql.h"

#include "measure/sum.h"

#include <assert.h>
#include <stdlib.h>

struct row {
	struct reading *readings;
	size_t count, room, next;
};

struct passage {
	const struct run_start *start;
	struct replay *replay;
	bool keep; /* the samples */
	struct sum sum;
	struct judge *judge;
	struct press_watch watch;
	bool over; /* the judge has seen the end of the run */
	struct row rows[SUM_CELLS_MAX];
	size_t sample_room;
	bool no_memory, no_such_cell;
};

/* Room for one more of size bytes; false: memory is short. */
static bool make_room(void **items, size_t count, size_t *room, size_t size)
{
	if (count < *room)
		return true;
	size_t larger = *room ? *room * 2 : 4096;
	void *moved = realloc(*items, larger * size);
	if (!moved)
		return false;
	*items = moved;
	*room = larger;
	return true;
}

static void keep_sample(struct passage *passage, const struct sample *sample)
{
	struct replay *replay = passage->replay;
	void *items = replay->samples;

	if (!make_room(&items, replay->sample_count, &passage->sample_room, sizeof(*sample)))
		passage->no_memory = true;
	else
		((struct sample *)items)[replay->sample_count] = *sample;
	replay->samples = items;
}

/* Judge and watch see each sample one after the other, as they did live. */
static void take_sample(void *context, const struct sample *sample)
{
	struct passage *passage = context;

	if (passage->over || passage->no_memory)
		return;
	if (passage->keep)
		keep_sample(passage, sample);
	passage->replay->sample_count++;
	passage->over = judge_feed(passage->judge, sample);
	press_watch_feed(
		&passage->watch, sample, sum_shares(&passage->sum), judge_phase(passage->judge));
}

static bool gather(struct passage *passage, size_t cell, const struct reading *reading)
{
	struct row *row = &passage->rows[cell];
	void *items = row->readings;

	passage->no_memory = !make_room(&items, row->count, &row->room, sizeof(*reading));
	row->readings = items;
	if (!passage->no_memory)
		row->readings[row->count++] = *reading;
	return !passage->no_memory;
}

static bool take_reading(void *context, size_t cell, const struct reading *reading)
{
	struct passage *passage = context;

	passage->no_such_cell = cell >= passage->start->cell_count;
	if (passage->no_such_cell)
		return false;
	passage->replay->reading_count++;
	if (passage->start->cell_count > 1)
		return gather(passage, cell, reading);
	sum_feed(&passage->sum, cell, reading, take_sample, passage);
	return !passage->no_memory;
}

/* The cell whose next reading is the earliest; cell_count if there is none left. */
static size_t earliest(const struct passage *passage)
{
	size_t cell_count = passage->start->cell_count, best = cell_count;
	int64_t best_ns = 0;

	for (size_t cell = 0; cell < cell_count; cell++) {
		const struct row *row = &passage->rows[cell];
		if (row->next == row->count)
			continue;
		int64_t time_ns = row->readings[row->next].time.ns;
		if (best == cell_count || time_ns < best_ns) {
			best = cell;
			best_ns = time_ns;
		}
	}
	return best;
}

/* What was gathered, if anything was. */
static void feed_gathered(struct passage *passage)
{
	for (size_t cell; (cell = earliest(passage)) < passage->start->cell_count;) {
		struct row *row = &passage->rows[cell];
		sum_feed(&passage->sum, cell, &row->readings[row->next++], take_sample, passage);
	}
	for (size_t cell = 0; cell < passage->start->cell_count; cell++)
		free(passage->rows[cell].readings);
}

static void begin(struct passage *passage)
{
	const struct run_start *start = passage->start;
	struct scale scales[SUM_CELLS_MAX];

	for (size_t cell = 0; cell < start->cell_count; cell++)
		scales[cell] = start->cells[cell].scale;
	sum_init(&passage->sum, start->cell_count, scales, start->capacity_un);
	judge_start(passage->judge, &start->plan);
	press_watch_start(&passage->watch, &start->watch, start->cell_count, &start->plan,
		start->has_specimen ? &start->specimen : NULL);
}

static void finish(struct passage *passage)
{
	const struct run_start *start = passage->start;
	struct outcome *outcome = &passage->replay->outcome;

	judge_finish(passage->judge, &outcome->judgement);
	outcome_derive(outcome, start->judged_by, start->has_specimen ? &start->specimen : NULL);
	press_watch_finish(&passage->watch, outcome);
}

static enum store_status derive(
	struct store *store, const struct run_record *record, struct passage *passage)
{
	long long run = (long long)record->row.run;

	begin(passage);
	enum store_status status =
		store_readings_each(store, record->row.run, take_reading, passage);
	feed_gathered(passage);
	if (status == STORE_OK && passage->no_such_cell)
		status = sql_error(store, STORE_CORRUPT,
			"run %lld has readings of a cell that it does not have", run);
	if (status == STORE_OK && passage->no_memory)
		status = sql_error(store, STORE_IO, "run %lld: memory is short", run);
	if (status == STORE_OK)
		finish(passage);
	else
		replay_finish(passage->replay);
	return status;
}

static enum store_status pass(struct store *store, const struct run_record *record,
	struct judge *judge, bool keep, struct replay *replay)
{
	long long run = (long long)record->row.run;

	assert(record->start.cell_count >= 1 && record->start.cell_count <= SUM_CELLS_MAX);
	*replay = (struct replay){.sample_count = 0};
	if (!record->start.judged_by)
		return sql_error(store, STORE_REFUSED,
			"run %lld was judged by the method \"%s\", which this program does not "
			"know: use the one that wrote it",
			run, record->start.method);
	struct passage *passage = calloc(1, sizeof(*passage));
	if (!passage || !judge) {
		free(passage);
		return sql_error(store, STORE_IO, "run %lld: memory is short", run);
	}
	passage->start = &record->start;
	passage->replay = replay;
	passage->keep = keep;
	passage->judge = judge;
	enum store_status status = derive(store, record, passage);
	free(passage);
	return status;
}

enum store_status replay_run(
	struct store *store, const struct run_record *record, struct replay *replay)
{
	struct judge *judge = judge_create(JUDGE_TRACK_MAX);
	enum store_status status = pass(store, record, judge, true, replay);

	judge_destroy(judge);
	return status;
}

enum store_status replay_outcome(struct store *store, const struct run_record *record,
	struct judge *judge, struct replay *replay)
{
	return pass(store, record, judge, false, replay);
}

enum store_status replay_with(struct store *store, const struct run_record *record,
	const struct specimen *specimen, struct replay *replay)
{
	struct run_record other = *record;
	const struct method *method = record->start.judged_by;
	struct plan *plan = &other.start.plan;
	struct message why = {""};

	*replay = (struct replay){.sample_count = 0};
	other.start.has_specimen = true;
	other.start.specimen = *specimen;
	/* Without a method replay_run says so. */
	if (method && !method_plan(method, specimen, plan, &why))
		return sql_error(store, STORE_REFUSED, "run %lld with specimen %s: %s",
			(long long)record->row.run, specimen->id, why.text);
	plan->contact_un = record->start.plan.contact_un;
	plan->policy = record->start.plan.policy;
	return replay_run(store, &other, replay);
}

void replay_finish(struct replay *replay)
{
	free(replay->samples);
	replay->samples = NULL;
	replay->sample_count = 0;
}
