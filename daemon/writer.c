/* SPDX-License-Identifier: MIT
 *
 * The thread side and the loop side of the writer. Shared, under the mutex: ring, done list and the
 * flags. The thread's own: the store and the numbers of the runs. The thread looks at jobs without
 * the mutex, which is safe because the loop only appends and only the thread drops.
 */
#include "writer.h"

#include "applier.h"
#include "log.h"

#include <assert.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const uint64_t RETRY_NS = 1000 * 1000 * 1000;
/* How long a stopping daemon goes on asking a disk that refuses. */
enum { STOP_TRIES = 5 };
/* So many jobs do not wait for the batch's time. */
enum { HURRY_COUNT = 16 * 1024 };

/* A log of this size means that somebody has been reading for long: ten minutes of a press at 1
 * kHz. Said again each time it has doubled. */
static const int64_t LOG_LARGE = INT64_C(64) << 20;

enum waiting {
	WAITING_NOT,
	WAITING_WORK, /* for anything at all */
	WAITING_TIME, /* for the batch to fill: only something urgent counts */
};

struct writer {
	uv_loop_t *loop;
	uv_async_t async;
	uv_thread_t thread;
	bool started;
	struct writer_hooks hooks;
	char database[CONFIG_PATH_SIZE];

	uv_mutex_t mutex;
	uv_cond_t condition;
	/* under the mutex */
	struct ring ring;
	uint64_t first_put_ns; /* when the oldest waiting job came */
	enum waiting waiting;
	bool urgent;
	bool stopping;
	int tries; /* since the disk last took something */
	struct writer_note *done_first, **done_last;
	bool durable;
	struct message refusal;                 /* why it is not durable */
	uint64_t lost_count;                    /* readings refused because the ring was full */
	struct loss losses[CONFIG_PRESSES_MAX]; /* not on record yet; press "": none */
	struct mono_time stored[CONFIG_PRESSES_MAX]; /* the newest reading on the disk; 0: none */

	/* the thread's */
	struct applier applier;
	bool refused; /* a fresh connection is needed */
	int stop_tries;
	uint64_t looked_ns; /* every job present then came before */
	int64_t log_told;   /* its size when it was last said to be large; 0: it is not */
	bool log_tight;     /* it was said that the disk has no room for as much again */

	/* the loop's */
	struct mono_time stored_told[CONFIG_PRESSES_MAX];
	bool durable_told;
	uint64_t lost_told;
};

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

/* With the mutex held. */
static void hand_back(struct writer *writer, struct job *job, enum store_status status)
{
	job->kind = JOB_NONE;
	job->note->status = status;
	job->note->next = NULL;
	*writer->done_last = job->note;
	writer->done_last = &job->note->next;
}

/* Drops the slice and hands its notes back. */
static void finish_slice(struct writer *writer, size_t length)
{
	bool tell = false;

	uv_mutex_lock(&writer->mutex);
	for (size_t i = 0; i < length; i++) {
		struct job *job = ring_at(&writer->ring, i);

		if (job->kind == JOB_NOTE)
			hand_back(writer, job, STORE_OK);
		if (job->kind != JOB_READING)
			continue;
		writer->stored[job->press] = job->reading.time;
		tell = true;
	}
	ring_drop(&writer->ring, length);
	writer->first_put_ns = writer->looked_ns;
	tell = tell || writer->done_first || !writer->durable;
	writer->durable = writer->durable || writer->ring.count < RING_SETTLED;
	writer->tries = 0;
	uv_mutex_unlock(&writer->mutex);
	if (tell)
		uv_async_send(&writer->async);
}

/* The database's rules forbid it: the asker hears why, everything else goes on. */
static void refuse_note(
	struct writer *writer, struct job *job, enum store_status status, const struct message *why)
{
	if (!job->note->why.text[0])
		job->note->why = *why;
	uv_mutex_lock(&writer->mutex);
	hand_back(writer, job, status);
	uv_mutex_unlock(&writer->mutex);
	uv_async_send(&writer->async);
}

/* The disk refuses: keep all, say so, come back on a fresh connection. */
static void begin_outage(struct writer *writer, const struct message *why)
{
	uv_mutex_lock(&writer->mutex);
	writer->durable = false;
	writer->refusal = *why;
	writer->tries++;
	uv_mutex_unlock(&writer->mutex);
	writer->refused = true;
	uv_async_send(&writer->async);
}

static bool reopen(struct writer *writer)
{
	struct message why = {""};

	if (!writer->refused)
		return true;
	if (store_reopen(writer->applier.store, &why) == STORE_OK) {
		writer->refused = false;
		return true;
	}
	begin_outage(writer, &why);
	return false;
}

/* Writes one slice of the count jobs that were there and says how long it was; 0: a part of it was
 * refused and it is to be tried again without. False: an outage began. */
static bool write_slice(struct writer *writer, size_t count, size_t *written)
{
	struct message why = {""};
	struct job *failed = NULL;
	size_t length = applier_slice(&writer->applier, count);
	enum store_status status = applier_write(&writer->applier, length, &failed, &why);

	*written = 0;
	if (status == STORE_OK) {
		finish_slice(writer, length);
		*written = length;
		return true;
	}
	if (status != STORE_REFUSED && status != STORE_NONE) {
		begin_outage(writer, &why);
		return false;
	}
	if (failed)
		refuse_note(writer, failed, status, &why);
	return true;
}

/* A log that took the last of the disk could never be written back into the database, which grows
 * by it: the reader gone, the disk would stay full. So as much is left alone as that may take, as
 * if the disk were full: at most 0.4 of the log is new pages (eight cells at 1 kHz; a tenth for
 * one).
 */
static bool leaves_room(struct writer *writer)
{
	struct store *store = writer->applier.store;
	struct message why = {""};
	int64_t size = store_log_size(store), keep = size / 2;

	keep = keep > LOG_LARGE ? keep : LOG_LARGE;
	if (size < LOG_LARGE || store_disk_free(store) >= keep)
		return true;
	store_log_cut(store);
	size = store_log_size(store);
	if (size < LOG_LARGE)
		return true;
	message_set(&why,
		"%s-wal has %lld MB, and what is left on the disk (%lld MB) is kept to write it "
		"back: end whoever reads in one transaction, or make room",
		writer->database, (long long)(size >> 20),
		(long long)(store_disk_free(store) >> 20));
	begin_outage(writer, &why);
	return false;
}

static void write_all(struct writer *writer, size_t count)
{
	while (count) {
		size_t written = 0;

		if (!reopen(writer) || !leaves_room(writer) ||
			!write_slice(writer, count, &written))
			return;
		count -= written;
	}
}

/* ---- what was lost */

static bool take_losses(struct writer *writer, struct loss losses[CONFIG_PRESSES_MAX])
{
	bool any = false;

	uv_mutex_lock(&writer->mutex);
	memcpy(losses, writer->losses, sizeof writer->losses);
	/* Those that fail are put back; what is lost meanwhile is added to them. */
	memset(writer->losses, 0, sizeof writer->losses);
	for (size_t i = 0; i < CONFIG_PRESSES_MAX; i++)
		any = any || losses[i].press[0];
	uv_mutex_unlock(&writer->mutex);
	return any;
}

/* With the mutex held. */
static void add_loss(struct loss *loss, const struct loss *more)
{
	struct loss sum = *more;

	if (loss->press[0]) {
		sum.from = loss->from.ns < more->from.ns ? loss->from : more->from;
		sum.to = loss->to.ns > more->to.ns ? loss->to : more->to;
		sum.reading_count += loss->reading_count;
		sum.loading_count += loss->loading_count;
	}
	*loss = sum;
}

static enum store_status store_losses(struct store *store, const struct loss *losses)
{
	enum store_status status = store_begin(store);

	for (size_t i = 0; i < CONFIG_PRESSES_MAX && status == STORE_OK; i++) {
		if (losses[i].press[0])
			status = store_loss_add(store, &losses[i]);
	}
	if (status == STORE_OK)
		status = store_commit(store);
	return status;
}

/* After everything that was kept: the disk takes writes again. */
static void write_losses(struct writer *writer)
{
	struct loss losses[CONFIG_PRESSES_MAX];
	struct message why = {""};

	if (writer->refused || !take_losses(writer, losses))
		return;
	if (store_losses(writer->applier.store, losses) == STORE_OK)
		return;
	message_set(&why, "%s", store_error(writer->applier.store));
	store_rollback(writer->applier.store);
	uv_mutex_lock(&writer->mutex);
	for (size_t i = 0; i < CONFIG_PRESSES_MAX; i++) {
		if (losses[i].press[0])
			add_loss(&writer->losses[i], &losses[i]);
	}
	uv_mutex_unlock(&writer->mutex);
	begin_outage(writer, &why);
}

/* A reader that does not stop is told of, and by name: recording goes on, the log grows. */
static void watch_log(struct writer *writer)
{
	int64_t size = store_log_size(writer->applier.store);
	char readers[200];

	if (size < LOG_LARGE && !writer->log_told)
		return;
	int64_t left = store_disk_free(writer->applier.store);
	bool tight = left < size && !writer->log_tight;
	if (size < LOG_LARGE) {
		log_line(LOG_INFO, "%s-wal: cut back to %lld MB", writer->database,
			(long long)(size >> 20));
		writer->log_told = 0;
		writer->log_tight = false;
	} else if (size >= 2 * writer->log_told || tight) {
		writer->log_told = size;
		writer->log_tight = left < size;
		store_log_readers(writer->applier.store, readers, sizeof readers);
		log_line(LOG_ERROR,
			"%s-wal: %lld MB and growing, %lld MB left on the disk%s: it cannot be "
			"cut back while %s reads in one transaction: end that; recording goes on",
			writer->database, (long long)(size >> 20), (long long)(left >> 20),
			writer->log_tight ? ", WHICH WILL BE FULL" : "",
			readers[0] ? readers : "somebody");
	}
}

/* ---- the thread: when */

static void wait_until(struct writer *writer, uint64_t due_ns)
{
	uint64_t now_ns = uv_hrtime();

	if (now_ns < due_ns)
		uv_cond_timedwait(&writer->condition, &writer->mutex, due_ns - now_ns);
}

/* With the mutex held. False: the writer stops and gives up on the disk. */
static bool wait_for_retry(struct writer *writer)
{
	uint64_t due_ns = uv_hrtime() + RETRY_NS;

	while (uv_hrtime() < due_ns && !(writer->stopping && !writer->stop_tries))
		wait_until(writer, due_ns);
	return !writer->stopping || writer->stop_tries++ < STOP_TRIES;
}

/* With the mutex held. False: nothing is left and the writer stops. */
static bool wait_for_work(struct writer *writer)
{
	if (writer->tries)
		return wait_for_retry(writer);
	while (!writer->ring.count && !writer->stopping) {
		writer->waiting = WAITING_WORK;
		uv_cond_wait(&writer->condition, &writer->mutex);
	}
	uint64_t due_ns = writer->first_put_ns + (uint64_t)WRITER_BATCH_NS;
	while (!writer->urgent && !writer->stopping && writer->ring.count < HURRY_COUNT &&
		uv_hrtime() < due_ns) {
		writer->waiting = WAITING_TIME;
		wait_until(writer, due_ns);
	}
	writer->waiting = WAITING_NOT;
	return writer->ring.count > 0;
}

static void work(void *argument)
{
	struct writer *writer = argument;

	uv_mutex_lock(&writer->mutex);
	while (wait_for_work(writer)) {
		size_t count = writer->ring.count;

		writer->urgent = false;
		writer->looked_ns = uv_hrtime();
		uv_mutex_unlock(&writer->mutex);
		write_all(writer, count);
		write_losses(writer);
		if (!writer->refused)
			watch_log(writer);
		uv_mutex_lock(&writer->mutex);
	}
	uv_mutex_unlock(&writer->mutex);
	store_close(writer->applier.store);
	writer->applier.store = NULL;
}

/* ---- the loop */

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
	int failed = uv_thread_create(&writer->thread, work, writer);
	assert(!failed);
	writer->started = true;
}

/* With the mutex held: wakes the thread if this job is what it waits for. */
static void wake(struct writer *writer, bool urgent)
{
	writer->urgent = writer->urgent || urgent;
	bool full = writer->ring.count == HURRY_COUNT;

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

bool writer_put_reading(
	struct writer *writer, size_t press, size_t cell, const struct reading *reading)
{
	struct job job = {.kind = JOB_READING, .press = (uint16_t)press, .cell = (uint16_t)cell};

	job.reading = *reading;
	uv_mutex_lock(&writer->mutex);
	bool ok = put(writer, &job, false);
	writer->lost_count += !ok;
	uv_mutex_unlock(&writer->mutex);
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
	add_loss(&writer->losses[press], &loss);
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
