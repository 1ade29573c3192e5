/* SPDX-License-Identifier: MIT
 *
 * The thread's side of the writer: slices of the ring become transactions, and a disk that refuses
 * an outage that ends by itself.
 */
#include "writer_inside.h"

#include <string.h>

static const uint64_t RETRY_NS = 1000 * 1000 * 1000;
/* How long a stopping daemon goes on asking a disk that refuses. */
enum { STOP_TRIES = 5 };

/* ---- what is written */

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

/* With the mutex held. The readings to come have no run to be put into. */
static void lose_run(struct writer *writer, const struct writer_note *note)
{
	struct loss loss = {.from = note->now,
		.to = note->now,
		.loading_count = 1,
		.reason = "the database refused to open a run"};

	memcpy(loss.press, note->start.press, sizeof loss.press);
	losses_add(&writer->losses, note->press, &loss);
}

/* The database's rules forbid it: the asker hears why, everything else goes on. */
static void refuse_note(
	struct writer *writer, struct job *job, enum store_status status, const struct message *why)
{
	if (!job->note->why.text[0])
		job->note->why = *why;
	uv_mutex_lock(&writer->mutex);
	if (job->note->kind == WRITER_RUN_OPEN)
		lose_run(writer, job->note);
	hand_back(writer, job, status);
	uv_mutex_unlock(&writer->mutex);
	uv_async_send(&writer->async);
}

/* The disk refuses: keep all, say so, come back on a fresh connection. Until then nothing is open,
 * so that a file system that has given up can be unmounted, mended and mounted. */
static void begin_outage(struct writer *writer, const struct message *why)
{
	uv_mutex_lock(&writer->mutex);
	writer->durable = false;
	writer->refusal = *why;
	writer->tries++;
	uv_mutex_unlock(&writer->mutex);
	/* Said before what may take its time on such a disk. */
	uv_async_send(&writer->async);
	store_let_go(writer->applier.store);
	writer->refused = true;
}

/* What the transaction that failed last was to write is there all the same, or is to be written. */
static void settle_doubt(struct writer *writer)
{
	size_t length = 0;

	if (applier_came_through(&writer->applier, &length))
		finish_slice(writer, length);
	if (!store_came_through(writer->applier.store)) {
		uv_mutex_lock(&writer->mutex);
		losses_put_back(&writer->losses, &writer->losses_tried);
		uv_mutex_unlock(&writer->mutex);
	}
	writer->losses_tried = (struct losses){0};
}

static bool reopen(struct writer *writer)
{
	struct message why = {""};

	if (!writer->refused)
		return true;
	if (store_reopen(writer->applier.store, &why) == STORE_OK) {
		writer->refused = false;
		settle_doubt(writer);
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

static bool leaves_room(struct writer *writer)
{
	struct message why = {""};

	if (journal_leaves_room(writer->applier.store, writer->database, &why))
		return true;
	begin_outage(writer, &why);
	return false;
}

/* False: an outage began. */
static bool write_all(struct writer *writer)
{
	uv_mutex_lock(&writer->mutex);
	size_t count = writer->ring.count;
	uv_mutex_unlock(&writer->mutex);
	while (count) {
		size_t written = 0;

		if (!leaves_room(writer) || !write_slice(writer, count, &written))
			return false;
		count -= written;
	}
	return true;
}

/* After everything that was kept: the disk takes writes again. What is lost meanwhile is added to
 * those that fail. */
static bool write_losses(struct writer *writer)
{
	struct message why = {""};

	uv_mutex_lock(&writer->mutex);
	bool any = losses_take(&writer->losses, &writer->losses_tried);
	uv_mutex_unlock(&writer->mutex);
	if (!any || losses_store(&writer->losses_tried, writer->applier.store) == STORE_OK) {
		writer->losses_tried = (struct losses){0};
		return true;
	}
	message_set(&why, "%s", store_error(writer->applier.store));
	store_rollback(writer->applier.store);
	begin_outage(writer, &why);
	return false;
}

/* It may be that the last of what was refused needed no slice to be written. */
static void end_outage(struct writer *writer)
{
	uv_mutex_lock(&writer->mutex);
	bool tell = !writer->durable;
	writer->durable = writer->durable || writer->ring.count < RING_SETTLED;
	writer->tries = 0;
	uv_mutex_unlock(&writer->mutex);
	if (tell)
		uv_async_send(&writer->async);
}

/* ---- when */

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

/* With the mutex held. */
static bool has_work(const struct writer *writer)
{
	return writer->ring.count > 0 || losses_any(&writer->losses);
}

/* With the mutex held. False: nothing is left and the writer stops. */
static bool wait_for_work(struct writer *writer)
{
	if (writer->tries)
		return wait_for_retry(writer);
	while (!has_work(writer) && !writer->stopping) {
		writer->waiting = WAITING_WORK;
		uv_cond_wait(&writer->condition, &writer->mutex);
	}
	uint64_t due_ns = writer->ring.count ? writer->first_put_ns + (uint64_t)WRITER_BATCH_NS : 0;
	while (!writer->urgent && !writer->stopping && writer->ring.count < WRITER_HURRY_COUNT &&
		uv_hrtime() < due_ns) {
		writer->waiting = WAITING_TIME;
		wait_until(writer, due_ns);
	}
	writer->waiting = WAITING_NOT;
	return has_work(writer);
}

void writer_work(void *argument)
{
	struct writer *writer = argument;

	uv_mutex_lock(&writer->mutex);
	while (wait_for_work(writer)) {
		writer->urgent = false;
		writer->looked_ns = uv_hrtime();
		uv_mutex_unlock(&writer->mutex);
		if (reopen(writer) && write_all(writer) && write_losses(writer)) {
			end_outage(writer);
			journal_watch(&writer->journal, writer->applier.store, writer->database);
		}
		uv_mutex_lock(&writer->mutex);
	}
	uv_mutex_unlock(&writer->mutex);
	store_close(writer->applier.store);
	writer->applier.store = NULL;
}
