/* SPDX-License-Identifier: MIT
 *
 * Commits at once where there is a note or a flush, as the writer does; but other readings in large
 * batches, since a test need not wait for a disk once in 240 ms.
 */
#include "virtual_writer.h"

#include "applier.h"
#include "clients.h"
#include "unit/check.h"
#include "virtual.h"
#include "wire/live.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static struct ring ring;
static struct applier applier;
static struct writer_hooks hooks;
static bool urgent;
enum { BATCH_MAX = 8 * 1024 };

static FILE *heard;
static char *heard_text;
static size_t heard_size;

struct writer *virtual_writer(void)
{
	return (struct writer *)&ring;
}

struct clients *virtual_clients(void)
{
	return (struct clients *)&heard;
}

/* ---- the writer */

struct writer_note *writer_note_create(enum writer_kind kind)
{
	struct writer_note *note = calloc(1, sizeof *note);

	note->kind = kind;
	return note;
}

void writer_note_destroy(struct writer_note *note)
{
	free(note);
}

bool writer_put_reading(
	struct writer *unused, size_t press, size_t cell, const struct reading *reading)
{
	struct job job = {.kind = JOB_READING, .press = (uint16_t)press, .cell = (uint16_t)cell};

	(void)unused;
	job.reading = *reading;
	return ring_put(&ring, &job);
}

bool writer_put(struct writer *unused, struct writer_note *note)
{
	struct job job = {.kind = JOB_NOTE, .press = (uint16_t)note->press};

	(void)unused;
	job.note = note;
	urgent = true;
	return ring_put(&ring, &job);
}

void writer_lose(struct writer *unused, size_t press, const char *name, int64_t reading_count,
	int64_t loading_count, struct utc_time at)
{
	(void)unused, (void)press, (void)reading_count, (void)loading_count, (void)at;
	fail_msg("press %s lost readings", name);
}

void writer_flush(struct writer *unused)
{
	(void)unused;
	urgent = true;
}

bool writer_has_room(struct writer *unused)
{
	(void)unused;
	return true;
}

static void hand_back(void)
{
	struct mono_time stored[CONFIG_PRESSES_MAX] = {{0}};

	for (size_t i = 0; i < ring.count; i++) {
		const struct job *job = ring_at(&ring, i);

		if (job->kind == JOB_READING)
			stored[job->press] = job->reading.time;
	}
	for (size_t press = 0; press < CONFIG_PRESSES_MAX; press++) {
		if (stored[press].ns)
			hooks.stored(hooks.context, press, stored[press]);
	}
	for (size_t i = 0; i < ring.count; i++) {
		const struct job *job = ring_at(&ring, i);

		if (job->kind != JOB_NOTE)
			continue;
		hooks.done(hooks.context, job->note);
		writer_note_destroy(job->note);
	}
}

void virtual_writer_turn(void *unused)
{
	struct message why = {""};
	struct job *failed = NULL;

	(void)unused;
	if (!urgent && ring.count < BATCH_MAX)
		return;
	urgent = false;
	assert_int_equal(applier_slice(&applier, ring.count), ring.count);
	if (applier_write(&applier, ring.count, &failed, &why) != STORE_OK)
		fail_msg("%s", why.text);
	hand_back();
	ring_drop(&ring, ring.count);
}

void virtual_writer_begin(
	struct store *store, const char *database, const struct writer_hooks *to_call)
{
	assert_true(ring_init(&ring, 64 * 1024));
	applier = (struct applier){.ring = &ring, .store = store, .database = database};
	hooks = *to_call;
	heard = open_memstream(&heard_text, &heard_size);
}

void virtual_writer_finish(void)
{
	urgent = true;
	virtual_writer_turn(NULL);
	ring_finish(&ring);
	fclose(heard);
	free(heard_text);
}

/* ---- the watcher */

const char *virtual_heard(void)
{
	fflush(heard);
	return heard_text;
}

bool clients_want_live(
	const struct clients *unused, size_t press, struct mono_time now, bool changed)
{
	(void)unused, (void)press, (void)now, (void)changed;
	return true;
}

void clients_send(struct clients *unused, int press, const char *line, size_t length)
{
	(void)unused, (void)press;
	fwrite(line, 1, length, heard);
}

void clients_send_live(struct clients *clients, size_t press, const char *name,
	struct mono_time now, bool changed, const struct live *live, struct mono_time origin)
{
	char buffer[LIVE_LINE_SIZE];
	struct text line;

	(void)now, (void)changed;
	text_init(&line, buffer, sizeof buffer);
	live_write_sample(&line, name, live, origin, 0);
	clients_send(clients, (int)press, buffer, line.length);
}

void clients_send_json(struct clients *clients, int press, json_t *value)
{
	char *line = json_dumps(value, JSON_COMPACT);

	clients_send(clients, press, line, strlen(line));
	clients_send(clients, press, "\n", 1);
	free(line);
	json_decref(value);
}
