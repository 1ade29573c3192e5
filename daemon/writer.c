/* SPDX-License-Identifier: MIT
 *
 * The loop's side of the writer: what it is given, and what the thread says of it.
 */
#include "writer_inside.h"

#include "log.h"

#include <assert.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct writer_note *writer_note_create(enum writer_kind kind)
{
	struct writer_note *note = calloc(1, sizeof *note);

	if (note)
		note->kind = kind;
	return note;
}

void writer_note_destroy(struct writer_note *note)
{
	if (note)
		json_decref(note->id);
	free(note);
}

/* ---- what the thread has said */

static void tell_lost(struct writer *writer, uint64_t lost_count)
{
	if (lost_count == writer->lost_told)
		return;
	log_line(LOG_ERROR, "%s: %llu readings were lost because the disk refused for too long",
		writer->database, (unsigned long long)(lost_count - writer->lost_told));
	writer->lost_told = lost_count;
}

static void tell_durable(struct writer *writer, bool durable, const struct message *why)
{
	if (durable == writer->durable_told)
		return;
	writer->durable_told = durable;
	if (durable)
		log_line(LOG_INFO, "%s: the disk has taken all readings again", writer->database);
	else
		log_line(LOG_ERROR,
			"%s: NOT STORED: %s; readings are kept in memory and tried every second: "
			"see to the disk",
			writer->database, why->text);
	writer->hooks.durable(writer->hooks.context, durable, why->text);
}

static void tell_stored(struct writer *writer, const struct mono_time stored[CONFIG_PRESSES_MAX])
{
	for (size_t press = 0; press < CONFIG_PRESSES_MAX; press++) {
		if (stored[press].ns == writer->stored_told[press].ns)
			continue;
		writer->stored_told[press] = stored[press];
		writer->hooks.stored(writer->hooks.context, press, stored[press]);
	}
}

static void drain(struct writer *writer)
{
	struct mono_time stored[CONFIG_PRESSES_MAX];
	struct message why = {""};

	uv_mutex_lock(&writer->mutex);
	memcpy(stored, writer->stored, sizeof stored);
	struct writer_note *note = writer->done_first;
	bool durable = writer->durable;
	uint64_t lost_count = writer->lost_count;
	writer->done_first = NULL;
	writer->done_last = &writer->done_first;
	if (!durable)
		why = writer->refusal;
	uv_mutex_unlock(&writer->mutex);
	tell_stored(writer, stored);
	while (note) {
		struct writer_note *next = note->next;

		writer->hooks.done(writer->hooks.context, note);
		writer_note_destroy(note);
		note = next;
	}
	if (durable)
		tell_lost(writer, lost_count);
	tell_durable(writer, durable, &why);
}

static void on_async(uv_async_t *async)
{
	drain(async->data);
}

/* ---- life */

struct writer *writer_create(
	uv_loop_t *loop, const char *database, size_t ring_size, const struct writer_hooks *hooks)
{
	struct writer *writer = calloc(1, sizeof *writer);

	if (!writer || !ring_init(&writer->ring, ring_size)) {
		free(writer);
		return NULL;
	}
	writer->loop = loop;
	writer->hooks = *hooks;
	writer->durable = writer->durable_told = true;
	writer->done_last = &writer->done_first;
	snprintf(writer->database, sizeof writer->database, "%s", database);
	writer->applier.ring = &writer->ring;
	writer->applier.database = writer->database;
	int failed = uv_mutex_init(&writer->mutex) || uv_cond_init(&writer->condition) ||
		     uv_async_init(loop, &writer->async, on_async);
	assert(!failed);
	writer->async.data = writer;
	return writer;
}

void writer_resume(struct writer *writer, size_t press, int64_t run)
{
	assert(!writer->started && press < CONFIG_PRESSES_MAX);
	writer->applier.runs[press] = run;
}

void writer_start(struct writer *writer, struct store *store)
{
	writer->applier.store = store;
	int failed = uv_thread_create(&writer->thread, writer_work, writer);
	assert(!failed);
	writer->started = true;
}

/* ---- what the thread is given */

/* With the mutex held: wakes the thread if this job is what it waits for. */
static void wake(struct writer *writer, bool urgent)
{
	writer->urgent = writer->urgent || urgent;
	bool full = writer->ring.count == WRITER_HURRY_COUNT;

	if (writer->waiting == WAITING_WORK ||
		(writer->waiting == WAITING_TIME && (urgent || full)))
		uv_cond_signal(&writer->condition);
	/* Woken once is enough. */
	if (writer->waiting == WAITING_WORK)
		writer->waiting = WAITING_NOT;
}

/* With the mutex held. */
static bool put(struct writer *writer, const struct job *job, bool urgent)
{
	if (!writer->ring.count)
		writer->first_put_ns = uv_hrtime();
	if (!ring_put(&writer->ring, job))
		return false;
	wake(writer, urgent);
	return true;
}

/* Much longer than any commit takes. */
enum { STUCK_S = 5 };

/* With the mutex held. A disk that neither takes nor refuses holds the thread, which cannot say so.
 * True: that is news. */
static bool is_stuck(struct writer *writer, struct mono_time now)
{
	if (!writer->durable || now.ns - (int64_t)writer->first_put_ns < STUCK_S * CLOCKS_NS_PER_S)
		return false;
	writer->durable = false;
	message_set(&writer->refusal, "the disk has not answered for %d s", STUCK_S);
	return true;
}

bool writer_put_reading(
	struct writer *writer, size_t press, size_t cell, const struct reading *reading)
{
	struct job job = {.kind = JOB_READING, .press = (uint16_t)press, .cell = (uint16_t)cell};

	job.reading = *reading;
	uv_mutex_lock(&writer->mutex);
	bool ok = put(writer, &job, false);
	writer->lost_count += !ok;
	bool stuck = is_stuck(writer, reading->time);
	uv_mutex_unlock(&writer->mutex);
	if (stuck)
		uv_async_send(&writer->async);
	return ok;
}

void writer_lose(struct writer *writer, size_t press, const char *press_name, int64_t reading_count,
	int64_t loading_count, struct utc_time at)
{
	struct loss loss = {.from = at,
		.to = at,
		.reading_count = reading_count,
		.loading_count = loading_count,
		.reason = "the disk refused and the memory was full"};

	snprintf(loss.press, sizeof loss.press, "%s", press_name);
	uv_mutex_lock(&writer->mutex);
	losses_add(&writer->losses, press, &loss);
	wake(writer, false);
	uv_mutex_unlock(&writer->mutex);
}

bool writer_put(struct writer *writer, struct writer_note *note)
{
	struct job job = {.kind = JOB_NOTE, .note = note};

	uv_mutex_lock(&writer->mutex);
	bool ok = put(writer, &job, true);
	uv_mutex_unlock(&writer->mutex);
	return ok;
}

void writer_flush(struct writer *writer)
{
	uv_mutex_lock(&writer->mutex);
	if (writer->ring.count)
		wake(writer, true);
	uv_mutex_unlock(&writer->mutex);
}

bool writer_has_room(struct writer *writer)
{
	uv_mutex_lock(&writer->mutex);
	bool room = writer->ring.count < writer->ring.size / 2;
	uv_mutex_unlock(&writer->mutex);
	return room;
}

bool writer_is_durable(const struct writer *writer)
{
	return writer->durable_told;
}

/* ---- the end */

static void give_up_rest(struct writer *writer)
{
	if (writer->ring.count)
		log_line(LOG_ERROR, "%s: %zu readings and notes were given up: the disk refused",
			writer->database, writer->ring.count);
	for (size_t i = 0; i < writer->ring.count; i++) {
		struct job *job = ring_at(&writer->ring, i);

		if (job->kind == JOB_NOTE)
			writer_note_destroy(job->note);
	}
	ring_drop(&writer->ring, writer->ring.count);
}

void writer_stop(struct writer *writer)
{
	if (writer->started) {
		uv_mutex_lock(&writer->mutex);
		writer->stopping = true;
		uv_cond_signal(&writer->condition);
		uv_mutex_unlock(&writer->mutex);
		uv_thread_join(&writer->thread);
		writer->started = false;
		drain(writer);
	}
	give_up_rest(writer);
	uv_close((uv_handle_t *)&writer->async, NULL);
}

void writer_destroy(struct writer *writer)
{
	if (!writer)
		return;
	uv_mutex_destroy(&writer->mutex);
	uv_cond_destroy(&writer->condition);
	ring_finish(&writer->ring);
	free(writer);
}
