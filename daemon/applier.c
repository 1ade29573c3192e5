/* SPDX-License-Identifier: MIT
 *
 * What each kind of job does to the database. Readings of one cell that stand together in the ring
 * are handed over in one call, whatever came between them from other cells.
 */
#include "applier.h"

#include "log.h"

#include <stdio.h>
#include <string.h>

/* Jobs in one transaction, so that one of them stays short however much has piled up. */
enum { SLICE_MAX = 16 * 1024 };

/* ---- one note */

static bool take_press_name(void *context, const struct run_row *row)
{
	struct writer_note *note = context;

	if (row->run == note->run)
		memcpy(note->press_name, row->press, sizeof note->press_name);
	return false;
}

static enum store_status apply_seat(
	struct applier *applier, struct writer_note *note, const struct actor *actor)
{
	enum store_status status =
		store_specimen_find(applier->store, note->specimen.id, &note->specimen);

	if (status == STORE_NONE)
		message_set(&note->why, "no specimen %s is registered: register it first",
			note->specimen.id);
	if (status != STORE_OK)
		return status;
	const struct method *method = method_find(note->specimen.method);
	struct plan plan;
	if (!method) {
		message_set(&note->why, "specimen %s names the method \"%s\", which is not known",
			note->specimen.id, note->specimen.method);
		return STORE_REFUSED;
	}
	if (!method_plan(method, &note->specimen, &plan, &note->why))
		return STORE_REFUSED;
	return store_seat(applier->store, note->press_name, note->specimen.id, actor, note->now);
}

static enum store_status apply_fracture(
	struct applier *applier, struct writer_note *note, const struct actor *actor)
{
	struct run_filter filter = {.after_run = note->run - 1, .limit = 1};
	enum store_status status = store_runs_each(applier->store, &filter, take_press_name, note);

	if (status != STORE_OK && status != STORE_NONE)
		return status;
	if (!note->press_name[0]) {
		message_set(&note->why, "there is no run %lld", (long long)note->run);
		return STORE_NONE;
	}
	return store_fracture_crack_add(applier->store, note->run, note->fracture, note->crack_um,
		note->text, actor, note->now);
}

/* The standing is the database's: a certificate may have been entered since the daemon last asked.
 */
static enum store_status apply_open(struct applier *applier, struct writer_note *note)
{
	struct run_start *start = &note->start;

	note->run = 0;
	enum store_status status =
		store_standing(applier->store, start->press, note->now, &start->standing);
	if (status == STORE_OK)
		status = store_run_open(applier->store, start, &note->run);
	applier->runs_pending[note->press] = status == STORE_OK ? note->run : 0;
	return status;
}

static enum store_status apply_upkeep(
	struct applier *applier, struct writer_note *note, const struct actor *actor)
{
	struct store *store = applier->store;
	enum store_status status =
		note->kind == WRITER_VERIFICATION
			? store_verification_add(store, &note->verification, actor, note->now)
			: store_upkeep_add(store, note->press_name, note->upkeep.upkeep, note->text,
				  note->upkeep.happened, actor, note->now);

	if (status == STORE_OK)
		status = store_standing(store, note->press_name, note->now, &note->standing);
	if (status == STORE_OK)
		status = store_care_last(store, note->press_name, &note->care);
	return status;
}

static enum store_status apply_zero(
	struct applier *applier, struct writer_note *note, const struct actor *actor)
{
	enum store_status status = STORE_OK;

	for (size_t i = 0; i < note->zero.count && status == STORE_OK; i++)
		status = store_zero_add(
			applier->store, &note->zero.entries[i], note->text, actor, note->now);
	return status;
}

static enum store_status correct_run(
	struct applier *applier, struct writer_note *note, const struct actor *actor)
{
	if (note->correction == REQUEST_OTHER_SPECIMEN)
		return store_run_assign(
			applier->store, note->run, note->specimen.id, note->text, actor, note->now);
	return store_run_void(applier->store, note->run, note->correction == REQUEST_VOID,
		note->text, actor, note->now);
}

static enum store_status apply_close(struct applier *applier, struct writer_note *note)
{
	int64_t *run = &applier->runs_pending[note->press];

	note->run = *run;
	if (!*run)
		return STORE_NONE;
	enum store_status status =
		store_run_close(applier->store, *run, &note->close.outcome, note->close.ended);
	if (status == STORE_OK)
		*run = 0;
	return status;
}

static enum store_status apply_note(struct applier *applier, struct writer_note *note)
{
	struct actor actor;

	note->why.text[0] = '\0';
	switch (note->kind) {
	case WRITER_RUN_OPEN:
		return apply_open(applier, note);
	case WRITER_RUN_CLOSE:
		return apply_close(applier, note);
	case WRITER_REGISTER:
		store_actor(note->uid, &actor);
		return store_register(applier->store, &note->specimen, &note->registration.detail,
			"", &actor, note->now, &note->registration.flags);
	case WRITER_SEAT:
		store_actor(note->uid, &actor);
		return apply_seat(applier, note, &actor);
	case WRITER_FRACTURE:
		store_actor(note->uid, &actor);
		return apply_fracture(applier, note, &actor);
	case WRITER_VERIFICATION:
	case WRITER_UPKEEP:
		store_actor(note->uid, &actor);
		return apply_upkeep(applier, note, &actor);
	case WRITER_ZERO:
		store_actor(note->uid, &actor);
		return apply_zero(applier, note, &actor);
	case WRITER_CORRECT_SPECIMEN:
		store_actor(note->uid, &actor);
		return store_register(applier->store, &note->specimen, &note->registration.detail,
			note->text, &actor, note->now, &note->registration.flags);
	case WRITER_CORRECT_RUN:
		store_actor(note->uid, &actor);
		return correct_run(applier, note, &actor);
	case WRITER_CONFIRM_METHOD:
		store_actor(note->uid, &actor);
		return store_method_confirm(applier->store, note->confirm.method,
			note->confirm.edition, note->text, &actor, note->now);
	case WRITER_SET_TERMS:
		store_actor(note->uid, &actor);
		return store_terms_add(applier->store, &note->terms, &actor, note->now);
	case WRITER_REPORT:
		store_actor(note->uid, &actor);
		return store_report_add(applier->store, &note->issued, &actor, note->now);
	}
	return STORE_REFUSED;
}

/* ---- a stretch of readings, one call of the store per cell and APPLIER_GATHER_MAX */

static bool belongs(const struct job *job, const struct job *like)
{
	return job->kind == JOB_READING && job->press == like->press && job->cell == like->cell;
}

static enum store_status add_cell(
	struct applier *applier, size_t from, size_t to, const struct job *like)
{
	int64_t run = applier->runs_pending[like->press];
	size_t count = 0;

	for (size_t i = from; i < to; i++) {
		const struct job *job = ring_at(applier->ring, i);

		if (!belongs(job, like))
			continue;
		applier->gathered[count++] = job->reading;
		if (count < APPLIER_GATHER_MAX)
			continue;
		enum store_status status = store_readings_add(
			applier->store, run, like->cell, applier->gathered, count);
		if (status != STORE_OK)
			return status;
		count = 0;
	}
	return count ? store_readings_add(applier->store, run, like->cell, applier->gathered, count)
		     : STORE_OK;
}

/* These never come to be stored. How many they are. */
static size_t leave_out(struct applier *applier, size_t from, size_t to, const struct job *like)
{
	size_t count = 0;

	for (size_t i = from; i < to; i++) {
		struct job *job = ring_at(applier->ring, i);

		if (!belongs(job, like))
			continue;
		job->kind = JOB_NONE;
		count++;
	}
	return count;
}

/* The database refuses these for good; a poisoned queue would keep all others out. */
static void give_up(struct applier *applier, size_t from, size_t to, const struct job *like)
{
	size_t count = leave_out(applier, from, to, like);

	log_line(LOG_ERROR, "%s: %zu readings refused and given up: %s", applier->database, count,
		store_error(applier->store));
}

static enum store_status add_readings(struct applier *applier, size_t from, size_t to)
{
	bool seen[CONFIG_PRESSES_MAX][SUM_CELLS_MAX] = {{false}};

	for (size_t i = from; i < to; i++) {
		const struct job like = *ring_at(applier->ring, i);

		if (like.kind != JOB_READING || seen[like.press][like.cell])
			continue;
		seen[like.press][like.cell] = true;
		/* Its run was refused. */
		if (!applier->runs_pending[like.press]) {
			leave_out(applier, i, to, &like);
			continue;
		}
		enum store_status status = add_cell(applier, i, to, &like);
		if (status == STORE_REFUSED || status == STORE_NONE)
			give_up(applier, i, to, &like);
		if (status != STORE_OK)
			return status;
	}
	return STORE_OK;
}

/* ---- a slice of the ring in one transaction */

static bool is_request(const struct job *job)
{
	return job->kind == JOB_NOTE && job->note->kind >= WRITER_REGISTER;
}

size_t applier_slice(const struct applier *applier, size_t count)
{
	size_t length = 0;

	if (applier->doubtful)
		return applier->doubtful;
	if (is_request(ring_at(applier->ring, 0)))
		return 1;
	while (length < count && length < SLICE_MAX && !is_request(ring_at(applier->ring, length)))
		length++;
	return length;
}

/* *failed: the note that was refused, or NULL. */
static enum store_status apply(struct applier *applier, size_t length, struct job **failed)
{
	enum store_status status = STORE_OK;
	size_t i = 0;

	*failed = NULL;
	while (i < length && status == STORE_OK) {
		size_t from = i;

		while (i < length && ring_at(applier->ring, i)->kind != JOB_NOTE)
			i++;
		status = add_readings(applier, from, i);
		if (status != STORE_OK || i == length)
			break;
		struct job *job = ring_at(applier->ring, i++);
		status = apply_note(applier, job->note);
		if (status != STORE_OK)
			*failed = job;
	}
	return status;
}

bool applier_came_through(struct applier *applier, size_t *length)
{
	*length = applier->doubtful;
	if (!applier->doubtful || !store_came_through(applier->store))
		return false;
	memcpy(applier->runs, applier->runs_doubtful, sizeof applier->runs);
	applier->doubtful = 0;
	return true;
}

static enum store_status commit(struct applier *applier, size_t length)
{
	enum store_status status = store_commit(applier->store);

	applier->doubtful = status == STORE_OK || status == STORE_REFUSED ? 0 : length;
	memcpy(applier->runs_doubtful, applier->runs_pending, sizeof applier->runs_doubtful);
	if (status == STORE_OK)
		memcpy(applier->runs, applier->runs_pending, sizeof applier->runs);
	return status;
}

enum store_status applier_write(
	struct applier *applier, size_t length, struct job **failed, struct message *why)
{
	memcpy(applier->runs_pending, applier->runs, sizeof applier->runs);
	enum store_status status = store_begin(applier->store);
	*failed = NULL;
	if (status == STORE_OK)
		status = apply(applier, length, failed);
	if (status == STORE_OK)
		status = commit(applier, length);
	if (status == STORE_OK)
		return STORE_OK;
	message_set(why, "%s", store_error(applier->store));
	store_rollback(applier->store);
	return status;
}
