/* SPDX-License-Identifier: MIT
 *
 * The phase machine: where a run stands.
 *
 *          contact          10 %            half            rate falls by itself
 *   idle ---------> seating -----> first_half -----> latter_half <------> yielding
 *                      ^  |            |                  |                  |
 *      contact (after  |  |            |   load below 95 % of the maximum    |
 *      an alignment    |  |            +--------+---------+------------------+
 *      check)          |  |                     v
 *                   released <------------- declining ----> (past the maximum again) by load
 *                         load off (from every loaded phase)
 *
 * Transitions and the functions that make them (phase.c; enter() asserts that the diagram has
 * them): idle -> seating and released -> seating touch(); seating -> first_half -> latter_half (a
 * step may pass over the first) and declining -> either climb(); latter_half, and first_half where
 * no half is known, <-> yielding soften(); rising -> declining fall(); -> released let_go().
 *
 * What holds in each phase (phase_check() asserts it before and after each sample):
 * - idle: no contact yet, the maximum is 0, the run is not over;
 * - seating: touched, the load has not reached the alignment load since this contact;
 * - first_half, latter_half, yielding: the largest load since contact has reached it;
 * - declining: the load was below decline_fraction of that largest load;
 * - released: the load has been off for release_s; over or waiting for the test after an
 *   alignment check.
 * The run is over only in released.
 */
#ifndef JUDGE_PHASE_H
#define JUDGE_PHASE_H

#include "judge/incident.h"
#include "judge/judge.h"
#include "judge/plan.h"
#include "judge/slope.h"

/* Blocks of policy.zero_s each; policy.zero_kept_s of them are kept, or as many as these. */
enum { PHASE_ZERO_BLOCKS = 128 };

struct machine {
	const struct plan *plan;
	struct findings *findings;
	enum phase phase;
	bool over;
	bool touched;
	struct contact contact;
	int64_t alignment_un; /* below it, a load taken off again is an alignment check */
	int64_t half_un; /* load at which the judged span begins; 0: not known before the run */
	int64_t maximum_un, maximum_ns; /* of the run, 0 before contact */
	int64_t hump_un, hump_ns;       /* largest since the last contact */
	/* the running rate in the loaded phases */
	double followed;          /* followed at a short distance */
	int64_t followed_ns;      /* until when; 0: not known */
	int64_t falling_since_ns; /* the newest sample at which it was not falling */
	double own_before;        /* the run's own rate when it began to yield */
	bool off;
	int64_t off_since_ns;
	int64_t released_ns;
	/* before contact: means of the newest blocks of idle samples, oldest first */
	double idle_sum_un; /* over the block that is not full yet */
	int64_t idle_count;
	double idle_last_un;    /* of that block */
	double idle_squares_un; /* of the changes from one idle sample to the next, and how many */
	int64_t idle_changes;
	int64_t idle_since_ns;
	size_t zero_count;
	int64_t zero_samples; /* in the newest block */
	double zero_un[PHASE_ZERO_BLOCKS];
	int64_t zero_from_ns[PHASE_ZERO_BLOCKS];
	bool broke; /* declining was reached since the last contact */
};

void phase_init(struct machine *machine, const struct plan *plan, struct findings *findings);
/* A load whose time is not known: it counts for the maximum and nothing else. */
void phase_late(struct machine *machine, struct slope_point now);
void phase_feed(
	struct machine *machine, struct slope_point now, const struct incident_rates *rates);
/* The press bears on the specimen: seating to declining. */
static inline bool phase_loaded(enum phase phase)
{
	return phase != PHASE_IDLE && phase != PHASE_RELEASED;
}

#endif
