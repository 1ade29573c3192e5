/* SPDX-License-Identifier: MIT
 *
 * Every run once: load, replay, compare, seal. What is wrong with one run never stops the audit of
 * the next; only a disk that answers with errors does.
 *
 * What it cannot see: the newest runs removed with their seals, all of them; for that the newest
 * seal has to be kept somewhere else.
 */
#include "store/audit.h"

#include "store/columns.h"
#include "store/replay.h"
#include "store/seal.h"

#include <assert.h>
#include <inttypes.h>
#include <sodium.h>
#include <stdio.h>
#include <string.h>

struct audit {
	struct store *store;
	audit_take *take;
	void *context;
	struct audit_summary *summary;
	int64_t run;
};

static void find(struct audit *audit, enum audit_kind kind, const char *field, const char *stored,
	const char *derived)
{
	struct audit_finding finding = {.kind = kind, .run = audit->run};

	snprintf(finding.field, sizeof(finding.field), "%s", field);
	snprintf(finding.stored, sizeof(finding.stored), "%s", stored);
	snprintf(finding.derived, sizeof(finding.derived), "%s", derived);
	if (kind == AUDIT_UNCLOSED)
		audit->summary->unclosed_count++;
	else
		audit->summary->difference_count++;
	audit->take(audit->context, &finding);
}

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
		find(audit, AUDIT_FIELD, name, texts.stored, texts.derived);
	}
}

static void compare_count(struct audit *audit, const char *field, int64_t stored, int64_t derived)
{
	char one[24], other[24];

	if (stored == derived)
		return;
	snprintf(one, sizeof(one), "%" PRId64, stored);
	snprintf(other, sizeof(other), "%" PRId64, derived);
	find(audit, AUDIT_FIELD, field, one, other);
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

/* Damage is a finding; anything else ends the audit. */
static enum store_status judge_status(
	struct audit *audit, enum store_status status, const char *field)
{
	if (status != STORE_CORRUPT && status != STORE_REFUSED)
		return status;
	/* The file is known; what is wrong within it is not. */
	const char *text = store_error(audit->store);
	size_t path = strlen(audit->store->path);
	if (strncmp(text, audit->store->path, path) == 0 && text[path] == ':')
		text += path + 2;
	find(audit, AUDIT_MISSING, field, "damaged", text);
	return STORE_OK;
}

static enum store_status derive(struct audit *audit, const struct run_record *record)
{
	struct replay replay;

	enum store_status status = replay_run(audit->store, record, &replay);
	if (status != STORE_OK)
		return judge_status(audit, status, "readings");
	audit->summary->sample_count += replay.sample_count;
	compare_count(
		audit, "reading_count", record->row.reading_count, (int64_t)replay.reading_count);
	compare_outcome(audit, &record->outcome, &replay.outcome);
	replay_finish(&replay);
	return STORE_OK;
}

static void compare_hash(struct audit *audit, const char *field,
	const unsigned char stored[STORE_SEAL_SIZE], const unsigned char derived[STORE_SEAL_SIZE])
{
	char one[STORE_SEAL_SIZE * 2 + 1], other[STORE_SEAL_SIZE * 2 + 1];

	if (memcmp(stored, derived, STORE_SEAL_SIZE) == 0)
		return;
	sodium_bin2hex(one, sizeof(one), stored, STORE_SEAL_SIZE);
	sodium_bin2hex(other, sizeof(other), derived, STORE_SEAL_SIZE);
	find(audit, AUDIT_SEAL, field, one, other);
}

static enum store_status check_seal(struct audit *audit, const struct seal *seal)
{
	unsigned char parts[SEAL_PARTS_SIZE], hash[STORE_SEAL_SIZE];

	enum store_status status = seal_parts(audit->store, audit->run, seal->version, parts);
	if (status != STORE_OK)
		return judge_status(audit, status, "seal");
	for (size_t i = 0; i < seal_part_count(seal->version); i++)
		compare_hash(audit, seal_part_name(i), seal->parts + i * STORE_SEAL_SIZE,
			parts + i * STORE_SEAL_SIZE);
	seal_hash(seal, hash);
	compare_hash(audit, "seal.hash", seal->hash, hash);
	status = seal_hash_of(audit->store, seal->number - 1, hash);
	if (status == STORE_NONE) {
		find(audit, AUDIT_SEAL, "seal.previous", "the seal before it", "not there");
		return STORE_OK;
	}
	if (status == STORE_OK)
		compare_hash(audit, "seal.previous", seal->previous, hash);
	return judge_status(audit, status, "seal.previous");
}

static enum store_status audit_run(struct audit *audit, int64_t run)
{
	struct run_record record;
	struct seal seal;

	audit->run = run;
	enum store_status loaded = store_run_load(audit->store, run, &record);
	if (loaded == STORE_NONE) {
		find(audit, AUDIT_MISSING, "run", "not there", "a run");
		return STORE_OK;
	}
	enum store_status status = judge_status(audit, loaded, "run");
	if (status != STORE_OK)
		return status;
	enum store_status sealed = seal_find(audit->store, run, &seal);
	if (loaded == STORE_OK && !record.row.closed && sealed == STORE_NONE) {
		find(audit, AUDIT_UNCLOSED, "run", "never closed", "");
		return STORE_OK;
	}
	audit->summary->run_count++;
	if (loaded == STORE_OK && !record.row.closed)
		find(audit, AUDIT_MISSING, "run_outcome", "not there", "one row, as it was sealed");
	else if (loaded == STORE_OK)
		status = derive(audit, &record);
	if (status != STORE_OK)
		return status;
	if (sealed == STORE_OK)
		return check_seal(audit, &seal);
	if (sealed == STORE_NONE) {
		find(audit, AUDIT_SEAL, "seal", "not there", "one, as of every closed run");
		return STORE_OK;
	}
	return judge_status(audit, sealed, "seal");
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

static enum store_status newest_run(struct store *store, size_t *newest)
{
	int64_t run = 0;

	enum store_status status = sql_integer(store, "SELECT ifnull(max(run), 0) FROM run", &run);
	*newest = run > 0 ? (size_t)run : 0;
	return status;
}

/* Numbers that no row carries, first to last. */
static void find_hole(struct audit *audit, int64_t first, int64_t last)
{
	char text[64];

	audit->run = first;
	snprintf(text, sizeof(text), "runs %" PRId64 " to %" PRId64, first, last);
	find(audit, AUDIT_MISSING, "run", "not there", first == last ? "a run" : text);
}

static enum store_status audit_all(struct audit *audit, audit_progress *progress)
{
	int64_t last = 0, run = 0;
	size_t newest = 0;

	enum store_status status = newest_run(audit->store, &newest);
	while (status == STORE_OK) {
		status = next_run(audit->store, last, &run);
		if (status != STORE_OK)
			break;
		if (run > last + 1)
			find_hole(audit, last + 1, run - 1);
		status = audit_run(audit, run);
		last = run;
		size_t done = (size_t)run < newest ? (size_t)run : newest;
		if (progress && !progress(audit->context, done, newest))
			return status;
	}
	return status == STORE_NONE ? STORE_OK : status;
}

enum store_status audit_runs(struct store *store, const int64_t *runs, size_t run_count,
	audit_take *take, audit_progress *progress, void *context, struct audit_summary *summary)
{
	struct audit audit = {store, take, context, summary, 0};
	enum store_status status = STORE_OK;

	assert(take && summary);
	*summary = (struct audit_summary){.run_count = 0};
	if (!runs)
		return audit_all(&audit, progress);
	for (size_t i = 0; i < run_count && status == STORE_OK; i++) {
		status = audit_run(&audit, runs[i]);
		if (progress && !progress(context, i + 1, run_count))
			break;
	}
	return status;
}
