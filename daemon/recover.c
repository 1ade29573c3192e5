/* SPDX-License-Identifier: MIT
 *
 * A run is taken up again if its newest reading is of this boot and younger than RESUME_NS, and its
 * press still has the same cells with the same scales: then the readings to come mean the same as
 * those stored. The judge is fed the stored ones, sees the gap by the times, and goes on.
 */
#include "recover.h"

#include "log.h"
#include "now.h"
#include "store/replay.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

/* Longer than a restart takes, shorter than a specimen is changed in. */
#define RESUME_NS (INT64_C(30) * CLOCKS_NS_PER_S)

/* A daemon leaves at most one run per press; more only pile up if closing failed before. */
enum { UNCLOSED_MAX = 256 };

struct stored_reading {
	size_t cell;
	size_t number; /* in the order of storing: keeps the sort stable */
	struct reading reading;
};

struct stored {
	struct stored_reading *readings;
	size_t count, room;
};

static bool take_stored(void *context, size_t cell, const struct reading *reading)
{
	struct stored *stored = context;

	if (stored->count == stored->room) {
		stored->room = stored->room ? 2 * stored->room : 4096;
		stored->readings =
			realloc(stored->readings, stored->room * sizeof *stored->readings);
		assert(stored->readings); /* at start, before anything could be lost */
	}
	stored->readings[stored->count] = (struct stored_reading){cell, stored->count, *reading};
	stored->count++;
	return true;
}

static int by_time(const void *a, const void *b)
{
	const struct stored_reading *first = a, *second = b;

	if (first->reading.time.ns != second->reading.time.ns)
		return first->reading.time.ns < second->reading.time.ns ? -1 : 1;
	return first->number < second->number ? -1 : 1;
}

static enum store_status load_readings(struct store *store, int64_t run, struct stored *stored)
{
	enum store_status status = store_readings_each(store, run, take_stored, stored);

	if (status == STORE_OK && stored->count)
		qsort(stored->readings, stored->count, sizeof *stored->readings, by_time);
	return status;
}

static int64_t newest_ns(const struct stored *stored, const struct run_record *record)
{
	return stored->count ? stored->readings[stored->count - 1].reading.time.ns
			     : record->start.origin.ns;
}

static bool same_cell(
	const struct run_cell *stored, const struct config_cell *config, const struct scale *scale)
{
	return strcmp(stored->name, config->section.name) == 0 &&
	       strcmp(stored->decoder, config->decoder->name) == 0 &&
	       stored->scale.unit == scale->unit &&
	       stored->scale.factor.mantissa == scale->factor.mantissa &&
	       stored->scale.factor.exponent == scale->factor.exponent &&
	       stored->scale.zero_un == scale->zero_un;
}

static bool same_press(const struct daemon *daemon, size_t press, const struct run_start *start)
{
	const struct config *config = daemon->config;
	const struct config_press *now = &config->presses[press];

	if (now->capacity_un != start->capacity_un || now->cell_count != start->cell_count ||
		!start->judged_by)
		return false;
	for (size_t i = 0; i < start->cell_count; i++) {
		if (!same_cell(&start->cells[i], &config->cells[now->cells[i]],
			    press_scale(daemon->presses[press], i)))
			return false;
	}
	return true;
}

static bool may_resume(struct daemon *daemon, const struct run_record *record,
	const struct stored *stored, int *press)
{
	*press = daemon_find_press(daemon, record->start.press);
	if (*press < 0 || !daemon->boot_id[0] ||
		strcmp(daemon->boot_id, record->start.boot_id) != 0 ||
		!same_press(daemon, (size_t)*press, &record->start))
		return false;
	struct status_press status;
	press_status(daemon->presses[*press], &status);
	return !status.run && now_mono().ns - newest_ns(stored, record) < RESUME_NS;
}

static void resume(struct daemon *daemon, const struct run_record *record,
	const struct stored *stored, size_t index)
{
	struct press *press = daemon->presses[index];

	log_line(LOG_WARNING, "press %s: run %lld is taken up again after a restart",
		record->start.press, (long long)record->row.run);
	writer_resume(daemon->writer, index, record->row.run);
	press_resume_begin(press, record->row.run, &record->start);
	for (size_t i = 0; i < stored->count; i++)
		press_resume_reading(press, stored->readings[i].cell, &stored->readings[i].reading);
	press_resume_end(press);
}

static enum store_status close_stored(
	struct store *store, const struct run_record *record, const struct stored *stored)
{
	struct utc_time ended = {
		record->start.started.ns + newest_ns(stored, record) - record->start.origin.ns};
	struct replay replay;
	enum store_status status = replay_run(store, record, &replay);

	if (status != STORE_OK)
		return status;
	status = store_begin(store);
	if (status == STORE_OK)
		status = store_run_close(store, record->row.run, &replay.outcome, ended);
	if (status == STORE_OK)
		status = store_commit(store);
	else
		store_rollback(store);
	if (status == STORE_OK)
		log_line(LOG_WARNING,
			"press %s: run %lld was left open and is closed from its readings: %s",
			record->start.press, (long long)record->row.run,
			end_text(replay.outcome.judgement.end));
	replay_finish(&replay);
	return status;
}

static enum store_status recover_run(
	struct daemon *daemon, int64_t run, struct run_record *record, struct stored *stored)
{
	int press = 0;
	enum store_status status = store_run_load(daemon->store, run, record);

	stored->count = 0;
	if (status == STORE_OK)
		status = load_readings(daemon->store, run, stored);
	if (status != STORE_OK)
		return status;
	if (may_resume(daemon, record, stored, &press)) {
		resume(daemon, record, stored, (size_t)press);
		return STORE_OK;
	}
	return close_stored(daemon->store, record, stored);
}

static bool recover_runs(struct daemon *daemon, struct message *why)
{
	int64_t runs[UNCLOSED_MAX];
	size_t count = 0;
	struct stored stored = {.count = 0};
	struct run_record *record = malloc(sizeof *record);
	enum store_status status = store_runs_unclosed(daemon->store, runs, UNCLOSED_MAX, &count);

	assert(record);
	/* The newest first: only that one of a press can still be going on. */
	while (status == STORE_OK && count > 0) {
		status = recover_run(daemon, runs[--count], record, &stored);
		if (status == STORE_REFUSED) {
			log_line(LOG_ERROR, "run %lld stays open: %s", (long long)runs[count],
				store_error(daemon->store));
			status = STORE_OK;
		}
	}
	free(stored.readings);
	free(record);
	return status == STORE_OK ||
	       message_set(why, "%s: %s", daemon->config->database, store_error(daemon->store));
}

static bool recover_seats(struct daemon *daemon, struct message *why)
{
	for (size_t i = 0; i < daemon->press_count; i++) {
		struct specimen specimen;
		enum store_status status =
			store_seated(daemon->store, press_name(daemon->presses[i]), &specimen);

		if (status == STORE_OK)
			press_seat(daemon->presses[i], &specimen);
		else if (status != STORE_NONE)
			return message_set(why, "%s: %s", daemon->config->database,
				store_error(daemon->store));
	}
	return true;
}

static enum store_status recover_press(struct store *store, struct press *press)
{
	struct standing standing;
	struct utc_time care;
	enum store_status status = store_standing(store, press_name(press), now_utc(), &standing);

	if (status == STORE_OK)
		status = store_care_last(store, press_name(press), &care);
	if (status != STORE_OK)
		return status;
	for (size_t i = 0; i < press_cell_count(press); i++) {
		struct zero_entry entry;
		enum store_status found = store_zero_last(
			store, press_name(press), press_cell_name(press, i), &entry);

		if (found == STORE_OK)
			press_set_zero(press, i, &entry);
		else if (found != STORE_NONE)
			return found;
	}
	press_set_upkeep(press, &standing, care);
	return STORE_OK;
}

/* Zeros before runs: a run goes on only with the scales it began with. */
static bool recover_presses(struct daemon *daemon, struct message *why)
{
	for (size_t i = 0; i < daemon->press_count; i++) {
		if (recover_press(daemon->store, daemon->presses[i]) != STORE_OK)
			return message_set(why, "%s: %s", daemon->config->database,
				store_error(daemon->store));
	}
	return true;
}

bool recover_all(struct daemon *daemon, struct message *why)
{
	return recover_presses(daemon, why) && recover_runs(daemon, why) &&
	       recover_seats(daemon, why);
}
