/* SPDX-License-Identifier: MIT
 *
 * Gathers the stored readings, puts those of several cells back into the order of their times (they
 * are stored chunk by chunk, and the sum would have to give up readings that wait too long for the
 * other cell), and sends them the way they came live: sum, judge, outcome.
 */
#include "store/replay.h"

#include "store/sql.h"

#include "judge/judge.h"
#include "measure/sum.h"

#include <assert.h>
#include <stdlib.h>

struct row {
	struct reading *readings;
	size_t count, room, next;
};

struct gathering {
	struct row cells[SUM_CELLS_MAX];
	size_t cell_count;
	struct sample *samples;
	size_t count, room;
	int64_t *shares_un; /* cell_count for each sample */
	size_t share_count, share_room;
	const struct sum *sum;
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

static bool gather(void *context, size_t cell, const struct reading *reading)
{
	struct gathering *gathering = context;

	gathering->no_such_cell = cell >= gathering->cell_count;
	if (gathering->no_such_cell)
		return false;
	struct row *row = &gathering->cells[cell];
	void *items = row->readings;
	gathering->no_memory = !make_room(&items, row->count, &row->room, sizeof(*reading));
	row->readings = items;
	if (gathering->no_memory)
		return false;
	row->readings[row->count++] = *reading;
	return true;
}

static void keep_share(struct gathering *gathering, int64_t share_un)
{
	void *items = gathering->shares_un;

	gathering->no_memory =
		gathering->no_memory || !make_room(&items, gathering->share_count,
						&gathering->share_room, sizeof(share_un));
	gathering->shares_un = items;
	if (!gathering->no_memory)
		gathering->shares_un[gathering->share_count++] = share_un;
}

static void keep_sample(void *context, const struct sample *sample)
{
	struct gathering *gathering = context;
	void *items = gathering->samples;

	if (gathering->no_memory ||
		!make_room(&items, gathering->count, &gathering->room, sizeof(*sample))) {
		gathering->no_memory = true;
		return;
	}
	gathering->samples = items;
	gathering->samples[gathering->count++] = *sample;
	for (size_t i = 0; i < gathering->cell_count; i++)
		keep_share(gathering, sum_shares(gathering->sum)[i]);
}

/* The cell whose next reading is the earliest; cell_count if there is none left. */
static size_t earliest(const struct gathering *gathering)
{
	size_t best = gathering->cell_count;
	int64_t best_ns = 0;

	for (size_t cell = 0; cell < gathering->cell_count; cell++) {
		const struct row *row = &gathering->cells[cell];
		if (row->next == row->count)
			continue;
		int64_t time_ns = row->readings[row->next].time.ns;
		if (best == gathering->cell_count || time_ns < best_ns) {
			best = cell;
			best_ns = time_ns;
		}
	}
	return best;
}

static bool add_up(struct gathering *gathering, const struct run_start *start)
{
	struct scale scales[SUM_CELLS_MAX];
	struct sum *sum = malloc(sizeof(*sum));

	if (!sum)
		return false;
	for (size_t cell = 0; cell < start->cell_count; cell++)
		scales[cell] = start->cells[cell].scale;
	sum_init(sum, start->cell_count, scales, start->capacity_un);
	gathering->sum = sum;
	for (size_t cell; (cell = earliest(gathering)) < gathering->cell_count;) {
		struct row *row = &gathering->cells[cell];
		sum_feed(sum, cell, &row->readings[row->next++], keep_sample, gathering);
	}
	free(sum);
	return !gathering->no_memory;
}

/* Judge and watch see each sample one after the other, as they did live. */
static bool judge_samples(struct replay *replay, const struct run_start *start,
	const int64_t *shares_un, struct press_watch *watch)
{
	struct judge *judge = judge_create(JUDGE_TRACK_MAX);
	size_t fed = 0;
	bool over = false;

	if (!judge)
		return false;
	judge_start(judge, &start->plan);
	press_watch_start(watch, &start->watch, start->cell_count, start->plan.contact_un,
		start->has_specimen ? &start->specimen : NULL);
	for (; fed < replay->sample_count && !over; fed++) {
		over = judge_feed(judge, &replay->samples[fed]);
		press_watch_feed(watch, &replay->samples[fed], &shares_un[fed * start->cell_count],
			judge_phase(judge));
	}
	replay->sample_count = fed;
	judge_finish(judge, &replay->outcome.judgement);
	judge_destroy(judge);
	return true;
}

/* Everything from the readings on. False: memory is short. */
static bool derive(struct gathering *gathering, const struct run_start *start,
	struct replay *replay, struct press_watch *watch)
{
	for (size_t cell = 0; cell < gathering->cell_count; cell++)
		replay->reading_count += gathering->cells[cell].count;
	bool added = add_up(gathering, start);
	replay->samples = gathering->samples;
	replay->sample_count = gathering->count;
	return added && judge_samples(replay, start, gathering->shares_un, watch);
}

enum store_status replay_run(
	struct store *store, const struct run_record *record, struct replay *replay)
{
	const struct run_start *start = &record->start;
	const struct method *method = start->judged_by;
	struct gathering gathering = {.cell_count = start->cell_count};
	struct press_watch watch;
	long long run = (long long)record->row.run;

	assert(start->cell_count >= 1 && start->cell_count <= SUM_CELLS_MAX);
	*replay = (struct replay){.sample_count = 0};
	if (!method)
		return sql_error(store, STORE_REFUSED,
			"run %lld was judged by the method \"%s\", which this program does not "
			"know: use the one that wrote it",
			run, start->method);
	enum store_status status = store_readings_each(store, record->row.run, gather, &gathering);
	if (status == STORE_OK && gathering.no_such_cell)
		status = sql_error(store, STORE_CORRUPT,
			"run %lld has readings of a cell that it does not have", run);
	if (status == STORE_OK &&
		(gathering.no_memory || !derive(&gathering, start, replay, &watch)))
		status = sql_error(store, STORE_IO, "run %lld: memory is short", run);
	if (status == STORE_OK) {
		outcome_derive(
			&replay->outcome, method, start->has_specimen ? &start->specimen : NULL);
		press_watch_finish(&watch, &replay->outcome);
	} else {
		replay_finish(replay);
	}
	free(gathering.shares_un);
	for (size_t cell = 0; cell < gathering.cell_count; cell++)
		free(gathering.cells[cell].readings);
	return status;
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
