/* SPDX-License-Identifier: MIT
 *
 * What a run's record says of the press rather than of the specimen: whether it read zero before
 * contact, whether the load acted in its centre, whether its bearing blocks suit the specimen. Fed
 * with the same samples as the judge, live and in a replay; its events join the judge's in the
 * outcome. Same samples and plan, same events. O(cells) per sample, no allocation.
 *
 * A limit of 0 means: not watched.
 */
#ifndef RESULT_PRESS_WATCH_H
#define RESULT_PRESS_WATCH_H

#include "judge/judge.h"
#include "measure/level.h"
#include "measure/thrust.h"
#include "result/bearing.h"
#include "result/outcome.h"

/* Blocks of samples (measure/level.h) that make a zero, and an eccentric load: a second. */
enum { PRESS_WATCH_BLOCKS = 2 };

/* Stored with each run. */
struct press_watch_plan {
	int64_t zero_limit_un;  /* the unloaded press reads no more than this */
	int64_t drift_limit_un; /* ... and has not moved by more than this since the last run */
	bool has_zero_before;
	int64_t zero_before_un;  /* what it read before the last run */
	int64_t thrust_limit_um; /* from the centre */
	int64_t thrust_least_un; /* a smaller load is not asked where it acts: noise would say */
	struct bearing block;    /* the smaller face */
	size_t place_count;      /* of the cells' places; 0: not known */
	struct thrust_place places[SUM_CELLS_MAX];
};

enum { PRESS_WATCH_EVENTS_MAX = 5 }; /* one of each kind; the zero before and after */

struct press_watch {
	struct press_watch_plan plan;
	size_t cell_count;
	int64_t contact_un;
	bool watches_rest; /* older rules did not */
	bool begun;        /* a sample was seen */
	bool touched;
	bool has_zero;
	int64_t zero_un;       /* before contact, of this run */
	int64_t rest_since_ns; /* the load is off; INT64_MAX: it is not */
	int64_t rest_count, rest_sum_un;
	struct sample last;
	struct level idle, loaded;
	size_t eccentric_blocks; /* in a row */
	struct outcome_thrust thrust;
	struct message block; /* why it does not suit; "" */
	struct event events[PRESS_WATCH_EVENTS_MAX];
	size_t event_count;
};

/* How far the blocks of a zero may lie apart. A press that is being closed slowly rises by more
 * than half of a limit in a second: that is no zero, however near to nothing it reads. */
int64_t press_watch_steady_un(int64_t zero_limit_un, int64_t drift_limit_un, int64_t contact_un);

/* run: what the judge goes by. specimen: NULL where none is seated. */
void press_watch_start(struct press_watch *watch, const struct press_watch_plan *plan,
	size_t cell_count, const struct plan *run, const struct specimen *specimen);
/* cells_un: the cells' shares of the sample (sum_shares); phase: the judge's after this sample. */
void press_watch_feed(struct press_watch *watch, const struct sample *sample,
	const int64_t *cells_un, enum phase phase);
/* Events so far, in the order found; *events points into the watch. */
size_t press_watch_events(const struct press_watch *watch, const struct event **events);
/* Once, when the last sample was fed: adds events and thrust to an outcome whose judgement is
 * there. */
void press_watch_finish(struct press_watch *watch, struct outcome *outcome);

#endif
