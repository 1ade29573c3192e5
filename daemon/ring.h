/* SPDX-License-Identifier: MIT
 *
 * The bounded first-in-first-out queue between the loop and the writer: readings by value, all
 * else as a note. No lock of its own: writer.c holds one.
 *
 * Jobs stay until they are committed, so a failed transaction is simply tried again. The memory is
 * as large as the longest outage to be bridged, but only the part that was ever needed is touched:
 * whenever little is left, it moves back to the beginning.
 */
#ifndef DAEMON_RING_H
#define DAEMON_RING_H

#include "measure/reading.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct writer_note;

enum job_kind {
	JOB_NONE, /* given up */
	JOB_READING,
	JOB_NOTE,
};

struct job {
	uint16_t kind; /* enum job_kind */
	uint16_t press;
	uint16_t cell;
	union {
		struct reading reading;
		struct writer_note *note;
	};
};

struct ring {
	struct job *jobs;
	size_t size;
	size_t first;
	size_t count;
};

/* Places kept free of readings, so that a run can be closed and a request answered even then. */
enum { RING_RESERVE = 256, RING_SETTLED = 1024 };

/* False when memory is short. size: at least 4 x RING_RESERVE. */
bool ring_init(struct ring *ring, size_t size);
void ring_finish(struct ring *ring);
/* False when it is full; readings are refused RING_RESERVE places earlier. */
bool ring_put(struct ring *ring, const struct job *job);
/* The i-th oldest, i < count. Valid until ring_drop. */
struct job *ring_at(struct ring *ring, size_t i);
/* Forgets the count oldest. */
void ring_drop(struct ring *ring, size_t count);

#endif
