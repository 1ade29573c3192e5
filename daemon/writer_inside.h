/* SPDX-License-Identifier: MIT
 *
 * What the writer is made of, for writer.c (the loop's side) and writer_thread.c (the thread's)
 * alone. Shared, under the mutex: ring, done list and the flags. The thread's own: the store and
 * the numbers of the runs. The thread looks at jobs without the mutex, which is safe because the
 * loop only appends and only the thread drops.
 */
#ifndef DAEMON_WRITER_INSIDE_H
#define DAEMON_WRITER_INSIDE_H

#include "applier.h"
#include "journal.h"
#include "losses.h"
#include "writer.h"

/* So many jobs do not wait for the batch's time. */
enum { WRITER_HURRY_COUNT = 16 * 1024 };

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
	struct message refusal; /* why it is not durable */
	uint64_t lost_count;    /* readings refused because the ring was full */
	struct losses losses;   /* not on record yet */
	struct mono_time stored[CONFIG_PRESSES_MAX]; /* the newest reading on the disk; 0: none */

	/* the thread's */
	struct applier applier;
	bool refused;               /* a fresh connection is needed */
	struct losses losses_tried; /* those whose storing failed last */
	int stop_tries;
	uint64_t looked_ns; /* every job present then came before */
	struct journal journal;

	/* the loop's */
	struct mono_time stored_told[CONFIG_PRESSES_MAX];
	bool durable_told;
	uint64_t lost_told;
};

/* The thread, until writer_stop. */
void writer_work(void *writer);

#endif
