/* SPDX-License-Identifier: MIT
 *
 * The counter or clock that a cell sends with its readings: which readings are missing or came
 * twice, and when each was taken. Its ticks are true to each other to some parts in ten thousand,
 * however late a reading arrives; where they lie on the host's clock is told by the readings that
 * were held up least. So the cell's time is the host's time of the reading that waited least, and
 * the ticks from there.
 */
#ifndef MEASURE_TICKS_H
#define MEASURE_TICKS_H

#include "measure/pattern.h"

/* How far the two clocks may drift apart, as a share: a cheap crystal, with room. */
#define TICKS_DRIFT 5e-4
/* A reading later than this has not been held up: the cell's clock is another one than before. */
#define TICKS_LATE_NS_MAX (10 * CLOCKS_NS_PER_S)

struct ticks {
	bool any;
	int64_t last;     /* newest counter as sent */
	int64_t total;    /* ticks since the first one, over all wraps */
	double offset_ns; /* host time of total 0 */
};

enum ticks_mark {
	TICKS_LOST = 1 << 0, /* readings before this one are missing, or the counter began anew */
	TICKS_REPEATED = 1 << 1, /* this reading has come before */
};

void ticks_reset(struct ticks *ticks);
/* arrival: when the reading's last byte came. *time becomes when it was taken, if the counter
 * tells, and is left alone otherwise; never later than arrival. Returns marks, or-ed. */
unsigned ticks_feed(struct ticks *ticks, const struct pattern_counter *form, int64_t counter,
	struct mono_time arrival, struct mono_time *time);

#endif
