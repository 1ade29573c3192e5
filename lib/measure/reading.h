/* SPDX-License-Identifier: MIT
 *
 * A reading: one value decoded from a cell, exactly as sent, with its arrival time. Nothing is
 * scaled, rounded or corrected here: readings are the evidence, everything else is computed from
 * them again.
 */
#ifndef MEASURE_READING_H
#define MEASURE_READING_H

#include "base/clocks.h"
#include "base/decimal.h"
#include "base/units.h"

/* What the cell said about its own value. */
enum reading_status {
	READING_OVER = 1 << 0,    /* above the cell's range: the value is not to be used */
	READING_UNDER = 1 << 1,   /* below the cell's range: the value is not to be used */
	READING_MOTION = 1 << 2,  /* not settled; on during every loading, so only informative */
	READING_INVALID = 1 << 3, /* the cell marks its value as wrong, or sent no digits at all */
	READING_ZERO = 1 << 4,    /* the cell stands at the centre of its zero; informative */
	READING_ZERO_ERROR = 1 << 5, /* the cell has not found its zero, and says so */
	/* What was found about its way. */
	READING_LATE = 1 << 6,     /* held up for longer than its time can be told from */
	READING_LOST = 1 << 7,     /* by the cell's own count, readings before it are missing */
	READING_REPEATED = 1 << 8, /* by the cell's own count, it has come before */
};

struct reading {
	/* When its last byte was on the wire, or when it was taken by the cell's own clock; and by
	 * how much later the clock was read, right after the read that brought it: the stamp is the
	 * sum of the two. */
	struct mono_time time;
	int64_t moved_ns;
	struct decimal value; /* digits as sent */
	enum unit unit;       /* as sent; UNIT_NONE where the line carries none */
	unsigned status;      /* enum reading_status, or-ed */
	int64_t counter;      /* the cell's own count or clock, in its ticks; 0 where it has none */
};

#endif
