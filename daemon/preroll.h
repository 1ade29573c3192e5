/* SPDX-License-Identifier: MIT
 *
 * The last readings of an idle press: when contact is made they become the first readings of the
 * run, so that the record shows the unloaded press, and the first touch in full.
 *
 * Memory is made once for the fastest press; only as much of it is touched as two seconds need.
 */
#ifndef DAEMON_PREROLL_H
#define DAEMON_PREROLL_H

#include "measure/reading.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Enough to see the zero and the hand that brings the block down, too little to bore. */
#define PREROLL_NS (INT64_C(2) * CLOCKS_NS_PER_S)

enum { PREROLL_MAX = 64 * 1024, PREROLL_STEP = 512 };

struct preroll_entry {
	size_t cell;
	struct reading reading;
};

/* The same in two thirds of the space: two seconds of every press are held at all times. */
struct preroll_packed {
	int64_t time_ns, mantissa, counter;
	uint32_t status;
	uint16_t cell;
	uint8_t unit;
	int8_t exponent;
};

struct preroll {
	struct preroll_packed *entries; /* PREROLL_MAX */
	size_t limit;                   /* how many of them are in use, at most */
	size_t first, count;
};

bool preroll_init(struct preroll *preroll); /* false when memory is short */
void preroll_finish(struct preroll *preroll);
/* Adds the newest and forgets what is older than PREROLL_NS before it. */
void preroll_put(struct preroll *preroll, size_t cell, const struct reading *reading);
/* The i-th oldest, i < count. */
struct preroll_entry preroll_at(const struct preroll *preroll, size_t i);
void preroll_clear(struct preroll *preroll);

#endif
