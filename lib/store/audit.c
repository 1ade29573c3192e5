/* SPDX-License-Identifier: MIT
 *
 * Every run once: load, replay, compare, seal. What is wrong with one run never stops the audit of
 * the next; only a disk that answers with errors does.
 *
 * What it cannot see: the newest runs removed with their seals, all of them; for that the newest
 * seal has to be kept somewhere else (audit_chain.c).
 */
#include "store/audit_inside.h"

#include "store/columns.h"
#include "store/replay.h"

#include <assert.h>
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

static void compare(struct audit *audit, const char *prefix, const struct column *columns,
	const void *stored, const void *derived)
{
	struct audit_finding texts;
	char name[sizeof(texts.field)];

	for (const struct column *column = columns; column->name; column++) {
		if (columns_equal(column, stored, derived))
			continue;
		snprintf(name, sizeof(name), "%s%s", prefix, column->name);
		columns_text(column, stored, texts.stored, sizeof(texts.stored));
		columns_text(column, derived, texts.derived, sizeof(texts.derived));
		audit_find(audit, AUDIT_FIELD, name, texts.stored, texts.derived);
	}
}

static void compare_count(struct audit *audit, const char *field, int64_t stored, int64_t derived)
{
	char one[24], other[24];

	if (stored == derived)
		return;
	snprintf(one, sizeof(one), "%" PRId64, stored);
	snprintf(other, sizeof(other), "%" PRId64, derived);
	audit_find(audit, AUDIT_FIELD, field, one, other);
}

static void compare_outcome(
	struct audit *audit, const struct outcome *stored, const struct outcome *derived)
{
	const struct judgement *one = &stored->judgement, *other = &derived->judgement;
	char prefix[32];

	compare(audit, "", columns_outcome, stored, derived);
	compare(audit, "thrust.", columns_thrust, stored, derived);
	compare(audit, "rate.", columns_rate, &one->rate, &other->rate);
	compare(audit, "rate_other.", columns_rate, &one->rate_other, &other->rate_other);
	for (size_t i = 0; i < one->event_count && i < other->event_count; i++) {
		snprintf(prefix, sizeof(prefix), "event[%zu].", i);
		compare(audit, prefix, columns_event, &one->events[i], &other->events[i]);
	}
}

/* version: of the run's seal; the first two had no sample count. */
static enum store_status derive(struct audit *audit, const struct run_record *record, int version)
{
	struct replay replay;

	enum store_status status = replay_outcome(audit->store, record, audit->judge, &replay);
	if (status != STORE_OK)
		return audit_judge_status(audit, status, "readings");
	audit->summary->sample_count += replay.sample_count;
	compare_count(
		audit, "reading_count", record->row.reading_count, (int64_t)replay.reading_count);
	if (record->row.sample_count >= 0 || version > 2)
		compare_count(audit, "sample_count", record->row.sample_count,
			(int64_t)replay.outcome.judgement.sample_count);
	compare_outcome(audit, &record->outcome, &replay.outcome);
	replay_finish(&replay);
	return STORE_OK;
}

struct corrected {
	struct audit *audit;
	const struct run_record *record;
	enum store_status status;
};

static bool derive_correction(void *context, const struct correction *correction)
{
	struct corrected *corrected = context;
	struct audit *audit = corrected->audit;
	struct replay replay;
	char prefix[32];

	if (correction->kind != CORRECTION_SPECIMEN)
		return true;
	snprintf(prefix, sizeof(prefix), "correction[%" PRId64 "].", correction->number);
	corrected->status =
		replay_with(audit->store, corrected->record, &correction->specimen, &replay);
	if (corrected->status != STORE_OK)
		return false;
	compare(audit, prefix, columns_outcome, &correction->outcome, &replay.outcome);
	compare(audit, prefix, columns_rate, &correction->outcome.judgement.rate,
		&replay.outcome.judgement.rate);
	compare(audit, prefix, columns_rate, &correction->outcome.judgement.rate_other,
		&replay.outcome.judgement.rate_other);
	replay_finish(&replay);
	return true;
}

static enum store_status derive_corrections(struct audit *audit, const struct run_record *record)
{
	struct corrected corrected = {audit, record, STORE_OK};
	enum store_status status = store_corrections_each(
		audit->store, record->row.run, derive_correction, &corrected);

	if (status == STORE_OK)
		status = corrected.status;
	return audit_judge_status(audit, status, "correction");
}

static enum store_status audit_run(struct audit *audit, int64_t run)
{
	struct run_record record;
	struct seal seal;

	audit_at_run(audit, run);
	enum store_status loaded = store_run_load(audit->store, run, &record);
	if (loaded == STORE_NONE) {
		audit_find(audit, AUDIT_MISSING, "run", "not there", "a run");
		return STORE_OK;
	}
	enum store_status status = audit_judge_status(audit, loaded, "run");
	if (status != STORE_OK)
		return status;
	enum store_status sealed = seal_find(audit->store, SEAL_RUN, run, &seal);
	if (loaded == STORE_OK && !record.row.closed && sealed == STORE_NONE) {
		audit_find(audit, AUDIT_UNCLOSED, "run", "never closed", "");
		return STORE_OK;
	}
	/* Closed since the audit began: the next one looks at it. */
	if (sealed == STORE_OK && seal.number > audit->extent->newest_seal)
		return STORE_OK;
	audit->summary->run_count++;
	if (loaded == STORE_OK && !record.row.closed)
		audit_find(audit, AUDIT_MISSING, "run_outcome", "not there",
			"one row, as it was sealed");
	else if (loaded == STORE_OK)
		status = derive(audit, &record, sealed == STORE_OK ? seal.version : 0);
	if (status == STORE_OK && loaded == STORE_OK && record.row.corrected)
		status = derive_corrections(audit, &record);
	if (status != STORE_OK)
		return status;
	if (sealed == STORE_OK)
		return audit_seal(audit, &seal);
	if (sealed == STORE_NONE) {
		audit_find(audit, AUDIT_SEAL, "seal", "not there", "one, as of every closed run");
		return STORE_OK;
	}
	return audit_judge_status(audit, sealed, "seal");
}

/* The next number above `after` that any row carries; STORE_NONE: there is none. Numbers have no
 * holes: a run that was removed still shows as one, or by what was left behind of it. */
static enum store_status next_run(struct store *store, int64_t after, int64_t *run)
{
	struct sql sql;

	sql_start(&sql, store,
		"SELECT run FROM ("
		"SELECT min(run) AS run FROM run WHERE run > ?1 UNION ALL "
		"SELECT min(run) FROM run_outcome WHERE run > ?1 UNION ALL "
		"SELECT min(run) FROM chunk WHERE run > ?1 UNION ALL "
		"SELECT min(run) FROM seal WHERE run > ?1)"
		" WHERE run IS NOT NULL ORDER BY run LIMIT 1");
	sql_put_integer(&sql, after);
	bool found = sql_next(&sql);
	if (found)
		*run = sql_take_integer(&sql);
	return sql_finish_one(&sql, found);
}

/* Numbers that no row carries, first to last. */
static void find_hole(struct audit *audit, int64_t first, int64_t last)
{
	char text[64];

	audit_at_run(audit, first);
	snprintf(text, sizeof(text), "runs %" PRId64 " to %" PRId64, first, last);
	audit_find(audit, AUDIT_MISSING, "run", "not there", first == last ? "a run" : text);
}

static bool may_go_on(const struct audit *audit, int64_t done)
{
	const struct audit_hooks *hooks = audit->hooks;
	size_t total = (size_t)audit->extent->newest_run;
	size_t shown = (size_t)done < total ? (size_t)done : total;

	if (hooks->progress && !hooks->progress(hooks->context, shown, total))
		audit->summary->stopped = true;
	return !audit->summary->stopped;
}

enum store_status audit_some_runs(struct store *store, const struct audit_extent *extent,
	int64_t first, int64_t last, const struct audit_hooks *hooks, struct audit_summary *summary)
{
	struct audit audit = {.store = store, .extent = extent, .hooks = hooks, .summary = summary};
	enum store_status status = STORE_OK;
	int64_t before = first - 1, run = 0;

	audit_keep_few_pages(store);
	audit.judge = judge_create(JUDGE_TRACK_MAX);
	audit_watch(&audit);
	while (status == STORE_OK && before < last) {
		status = next_run(store, before, &run);
		if (status == STORE_NONE || (status == STORE_OK && run > last))
			run = last + 1;
		else if (status != STORE_OK)
			break;
		/* Behind the newest number there is no hole, only the end. */
		int64_t hole_to = run - 1 < extent->newest_run ? run - 1 : extent->newest_run;
		if (hole_to > before)
			find_hole(&audit, before + 1, hole_to);
		if (run > last) {
			status = STORE_OK;
			break;
		}
		status = audit_run(&audit, run);
		before = run;
		if (!may_go_on(&audit, run))
			break;
	}
	judge_destroy(audit.judge);
	return audit_unwatch(&audit, status);
}

/* One after the other what the tool does side by side. */
static enum store_status audit_all(
	struct store *store, const struct audit_hooks *hooks, struct audit_summary *summary)
{
	struct audit_extent extent;
	enum store_status status = audit_pages(store, hooks, summary);

	if (status != STORE_OK || summary->stopped || summary->difference_count > 0)
		return status;
	status = audit_begin(store, &extent);
	if (status == STORE_OK)
		status = audit_some_runs(store, &extent, 1, INT64_MAX - 1, hooks, summary);
	if (status == STORE_OK && !summary->stopped)
		status = audit_some_seals(store, &extent, 1, extent.newest_seal, hooks, summary);
	if (status == STORE_OK && !summary->stopped)
		status = audit_file(store, &extent, hooks, summary);
	return status;
}

enum store_status audit_runs(struct store *store, const int64_t *runs, size_t run_count,
	audit_take *take, audit_progress *progress, void *context, struct audit_summary *summary)
{
	struct audit_hooks hooks = {take, progress, context};
	struct audit_extent extent;
	struct audit audit = {.store = store, .extent = &extent, .hooks = &hooks};

	assert(take && summary);
	*summary = (struct audit_summary){.run_count = 0};
	if (!runs)
		return audit_all(store, &hooks, summary);
	audit.summary = summary;
	audit_keep_few_pages(store);
	audit.judge = judge_create(JUDGE_TRACK_MAX);
	enum store_status status = audit_begin(store, &extent);
	for (size_t i = 0; i < run_count && status == STORE_OK; i++) {
		status = audit_run(&audit, runs[i]);
		if (progress && !progress(context, i + 1, run_count))
			break;
	}
	judge_destroy(audit.judge);
	return status;
}
