/* SPDX-License-Identifier: MIT
 *
 * The writer: a thread that owns the database connection, so that the loop never waits for a disk.
 * The loop hands it readings and notes through a bounded ring and hears back through the loop.
 *
 * Readings are on the disk 250 ms after they arrived: their commit begins after WRITER_BATCH_NS and
 * takes some milliseconds where others leave the disk alone. Notes and writer_flush commit at once.
 * While the disk refuses, everything stays in the ring and is tried again every second on a fresh
 * connection. When the ring is full, readings are refused: the caller must then end the
 * run they belong to, since a run with a hole cannot be derived again.
 */
#ifndef DAEMON_WRITER_H
#define DAEMON_WRITER_H

#include "base/clocks.h"
#include "store/store.h"
#include "wire/request.h"

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/types.h>
#include <uv.h>

#define WRITER_BATCH_NS (INT64_C(240) * CLOCKS_NS_PER_MS)

/* Two minutes of eight cells at 250 Hz, or a minute of one at 4 kHz: 11 MB that are only touched
 * while a disk refuses. */
enum { WRITER_RING_SIZE = 256 * 1024 };

enum writer_kind {
	WRITER_RUN_OPEN,
	WRITER_RUN_CLOSE,
	WRITER_REGISTER,
	WRITER_SEAT,
	WRITER_FRACTURE,
	WRITER_VERIFICATION,
	WRITER_UPKEEP,
	WRITER_ZERO,
	WRITER_CORRECT_SPECIMEN,
	WRITER_CORRECT_RUN,
	WRITER_CONFIRM_METHOD,
	WRITER_SET_TERMS,
	WRITER_REPORT,
};

/* One thing to be written that is no reading, and what became of it. Heap memory: made by the
 * caller, taken over by writer_put, handed back through the hook, freed after it. */
struct writer_note {
	struct writer_note *next; /* the writer's */
	enum writer_kind kind;
	size_t press; /* of the run; of the seat */
	/* who asked, for the answer; the writer does not look at them */
	uint64_t client;
	json_t *id; /* owned; whoever frees the note drops it */
	/* requests: who and when; a run's opening: when */
	uid_t uid;
	struct utc_time now;
	/* the outcome */
	enum store_status status;
	struct message why;               /* where status is not STORE_OK */
	int64_t run;                      /* in: fracture; out: open, close */
	char press_name[STORE_NAME_SIZE]; /* in: all requests but fracture; out: fracture */
	struct specimen specimen;         /* in: register, and the id for seat; out: seat */
	int fracture;
	int64_t crack_um;
	char text[STORE_NOTE_SIZE]; /* the note of a fracture, an upkeep, a zero, a confirmation */
	struct standing standing;   /* out: verification, upkeep */
	struct utc_time care;       /* out: verification, upkeep: of ball and socket, the last */
	enum request_correction correction;
	union {
		struct run_start start;
		struct {
			struct outcome outcome;
			struct utc_time ended;
			/* for the watchers' line */
			struct mono_time origin;
			struct utc_time started;
			char specimen_id[SPECIMEN_NAME_SIZE];
			int64_t reading_count;
		} close;
		struct verification verification; /* in: judged; out: its number */
		struct {
			enum upkeep upkeep;
			struct utc_time happened;
		} upkeep;
		struct {
			size_t count;
			struct zero_entry entries[SUM_CELLS_MAX];
		} zero;
		struct {
			const struct method *method;
			char edition[STORE_NAME_SIZE];
		} confirm;
		struct {
			struct detail detail;      /* in */
			struct detail_flags flags; /* out */
		} registration;                    /* register and correct_specimen */
		struct set_terms terms;
		struct issued issued; /* report */
	};
};

/* NULL when memory is short. */
struct writer_note *writer_note_create(enum writer_kind kind);
void writer_note_destroy(struct writer_note *note); /* NULL is fine */

struct writer_hooks {
	void *context;
	/* The note is done with, status says how; on the loop's thread, in the order of the puts,
	 * but for a refused one, which does not wait for those before it. */
	void (*done)(void *context, struct writer_note *note);
	/* The disk begins to refuse or does not answer, or has taken all again. */
	void (*durable)(void *context, bool durable, const char *why);
	/* This reading of the press is on the disk, and every one that was put before it. Once a
	 * commit. */
	void (*stored)(void *context, size_t press, struct mono_time reading);
};

struct writer;

/* NULL when memory is short. The store must be open and is the writer's from writer_start on. */
struct writer *writer_create(
	uv_loop_t *loop, const char *database, size_t ring_size, const struct writer_hooks *hooks);
/* Before writer_start: this run is open already, further readings of the press belong to it. */
void writer_resume(struct writer *writer, size_t press, int64_t run);
void writer_start(struct writer *writer, struct store *store);

/* False: the ring is full, the reading is lost and counted. */
bool writer_put_reading(
	struct writer *writer, size_t press, size_t cell, const struct reading *reading);
/* False: the ring is full; the note stays the caller's. */
bool writer_put(struct writer *writer, struct writer_note *note);
/* Something of that press could not be kept: readings, or a whole loading. It is put on record as
 * soon as the disk takes anything. */
void writer_lose(struct writer *writer, size_t press, const char *press_name, int64_t reading_count,
	int64_t loading_count, struct utc_time at);
/* Commits what waits without waiting for more. */
void writer_flush(struct writer *writer);
/* Whether there is room for a whole run. */
bool writer_has_room(struct writer *writer);

/* What the hook was last told. */
bool writer_is_durable(const struct writer *writer);

/* Writes what is left (giving up on a disk that refuses for some seconds), closes the database,
 * ends the thread, calls the hooks a last time. Then run the loop until its handles are closed and
 * destroy. */
void writer_stop(struct writer *writer);
void writer_destroy(struct writer *writer); /* NULL is fine */

#endif
