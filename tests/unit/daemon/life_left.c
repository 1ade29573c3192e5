/* SPDX-License-Identifier: MIT
 *
 * What a life has left in the database, as another program reads it.
 */
#include "life.h"
#include "store/audit.h"
#include "store/sql.h"
#include "unit/check.h"

#include <stdio.h>
#include <string.h>

static char wrong[600];

#define WRONG(...) (snprintf(wrong, sizeof wrong, __VA_ARGS__), wrong)

struct stored_run {
	int64_t run;
	size_t press;
	bool closed;
	int64_t count;
	int64_t last_ns[SUM_CELLS_MAX];
	int64_t newest_ns;
	size_t holes[SUM_CELLS_MAX];
	bool twice;
};

struct stored_runs {
	size_t count;
	struct stored_run runs[LIFE_RUNS_MAX];
};

static bool take_run(void *context, const struct run_row *row)
{
	struct stored_runs *stored = context;
	const struct config *config = life.config;
	size_t press = 0;

	/* The life may be over, and its presses gone. */
	while (press < LIFE_PRESSES && strcmp(config->presses[press].section.name, row->press) != 0)
		press++;
	assert_true(press < LIFE_PRESSES && stored->count < LIFE_RUNS_MAX);
	stored->runs[stored->count++] =
		(struct stored_run){.run = row->run, .press = press, .closed = row->closed};
	return true;
}

static bool take_reading(void *context, size_t cell, const struct reading *reading)
{
	struct stored_run *run = context;
	int64_t step_ns = reading->time.ns - run->last_ns[cell];

	if (run->last_ns[cell] && step_ns <= 0)
		run->twice = true;
	else if (run->last_ns[cell] && step_ns != LIFE_TICK_NS)
		run->holes[cell]++;
	run->last_ns[cell] = reading->time.ns;
	if (reading->time.ns > run->newest_ns)
		run->newest_ns = reading->time.ns;
	run->count++;
	return true;
}

static const char *compare(const struct stored_runs *stored, size_t holes)
{
	int64_t newest_ns[LIFE_PRESSES] = {0};

	for (size_t i = 0; i < stored->count; i++) {
		const struct stored_run *run = &stored->runs[i];

		if (run->twice)
			return WRONG("run %lld has readings twice", (long long)run->run);
		for (size_t cell = 0; cell < SUM_CELLS_MAX; cell++) {
			if (run->holes[cell] > holes)
				return WRONG("run %lld lacks readings within", (long long)run->run);
		}
		if (run->newest_ns > newest_ns[run->press])
			newest_ns[run->press] = run->newest_ns;
	}
	for (size_t i = 0; i < LIFE_PRESSES; i++) {
		if (newest_ns[i] < life.stored[i].ns)
			return WRONG("press %zu: up to %lld was said to be stored, %lld is", i,
				(long long)life.stored[i].ns, (long long)newest_ns[i]);
	}
	for (size_t i = 0; i < life.closed_count; i++) {
		const struct life_closed *closed = &life.closed[i];
		size_t at = 0;

		while (at < stored->count && stored->runs[at].run != closed->run)
			at++;
		if (at == stored->count || !stored->runs[at].closed ||
			stored->runs[at].count != closed->reading_count)
			return WRONG("run %lld was closed with %lld readings and is not there so",
				(long long)closed->run, (long long)closed->reading_count);
	}
	return NULL;
}

const char *life_missing(size_t holes)
{
	struct stored_runs stored = {.count = 0};
	struct run_filter filter = {.limit = 0};
	struct message why = {""};
	struct store *store = NULL;

	if (store_open(&store, life.database, STORE_READ, &why) != STORE_OK)
		return WRONG("%s", why.text);
	enum store_status status = store_runs_each(store, &filter, take_run, &stored);
	for (size_t i = 0; i < stored.count && status == STORE_OK; i++)
		status = store_readings_each(
			store, stored.runs[i].run, take_reading, &stored.runs[i]);
	const char *missing =
		status == STORE_OK ? compare(&stored, holes) : WRONG("%s", store_error(store));
	store_close(store);
	return missing;
}

size_t life_unclosed(void)
{
	int64_t runs[LIFE_RUNS_MAX];
	size_t count = 0;
	struct store *store = NULL;

	if (store_open(&store, life.database, STORE_READ, NULL) != STORE_OK)
		return 0;
	store_runs_unclosed(store, runs, LIFE_RUNS_MAX, &count);
	store_close(store);
	return count;
}

static void take_finding(void *context, const struct audit_finding *finding)
{
	const char **first = context;

	if (!*first)
		*first = WRONG("%s: %s: stored %s, derived %s", finding->place, finding->field,
			finding->stored, finding->derived);
}

/* As audit_runs does it, but what makes a database of its own to compare the tables' definitions
 * with. */
static enum store_status audit(
	struct store *store, const struct audit_hooks *hooks, struct audit_summary *summary)
{
	struct audit_extent extent;
	enum store_status status = audit_pages(store, hooks, summary);

	if (status == STORE_OK)
		status = audit_begin(store, &extent);
	if (status == STORE_OK)
		status = audit_some_runs(store, &extent, 1, extent.newest_run, hooks, summary);
	if (status == STORE_OK)
		status = audit_some_seals(store, &extent, 1, extent.newest_seal, hooks, summary);
	return status;
}

const char *life_finding(bool whole)
{
	struct audit_summary summary = {.run_count = 0};
	struct message why = {""};
	struct store *store = NULL;
	const char *first = NULL;
	struct audit_hooks hooks = {take_finding, NULL, &first};

	if (store_open(&store, life.database, STORE_READ, &why) != STORE_OK)
		return WRONG("%s", why.text);
	enum store_status status =
		whole ? audit_runs(store, NULL, 0, take_finding, NULL, &first, &summary)
		      : audit(store, &hooks, &summary);
	if (status != STORE_OK)
		first = WRONG("%s", store_error(store));
	store_close(store);
	return first;
}

void life_losses(int64_t *reading_count, int64_t *loading_count)
{
	struct store *store = NULL;

	assert_int_equal(store_open(&store, life.database, STORE_READ, NULL), STORE_OK);
	assert_int_equal(
		sql_integer(store, "SELECT ifnull(sum(reading_count), 0) FROM loss", reading_count),
		STORE_OK);
	assert_int_equal(
		sql_integer(store, "SELECT ifnull(sum(loading_count), 0) FROM loss", loading_count),
		STORE_OK);
	store_close(store);
}
