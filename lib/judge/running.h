/* SPDX-License-Identifier: MIT
 *
 * The running stress rate: three windows that slide with the load, and what follows from them: the
 * rate that a person sees, the run's own rate, its swing, how far hunting alone can move a rate.
 */
#ifndef JUDGE_RUNNING_H
#define JUDGE_RUNNING_H

#include "judge/advice.h"
#include "judge/incident.h"
#include "judge/plan.h"
#include "judge/track.h"

struct running {
	const struct plan *plan;
	struct window live;    /* what a person sees */
	struct window judging; /* W; begins afresh where the band begins */
	struct window band;    /* as the live one, but begins afresh where the band begins */
	bool one;              /* ... and so long ago that the two hold the same points: live */
	struct incident_rates rates;
	struct advice_rates shown;
	int64_t looked_ns;      /* last look at the rates */
	double swing_learnt_s;  /* time learnt from */
	double integral_square; /* mean square of the integral of the swing, in (N s)^2 ... */
	double integral_s;      /* ... and the time learnt from */
	double swing_kept[2]; /* the swing as it was: between one and two windows ago, and since */
	int64_t kept_ns;      /* when the newer one was kept */
};

void running_init(struct running *running, const struct plan *plan);
/* The press has touched the specimen: nothing is known yet. first: index of the next sample. */
void running_touch(struct running *running, size_t first);
/* A step, a fall: the rates on its two sides are not one rate. What is known of the swing stays. */
void running_break(struct running *running, size_t first);
/* The band begins: what was done before must not leak into rates that are warned of. */
void running_band(struct running *running, size_t first);

/* Takes the track's newest points into the windows: before anything is taken off the track. While
 * it only grows, the next look does it, for all points since the last one together. */
void running_advance(struct running *running, const struct track *track);
/* Samples were taken off the track. */
void running_rebuild(struct running *running, const struct track *track);
/* It is time to look at the windows. */
static inline bool running_due(const struct running *running, int64_t now_ns)
{
	return (double)(now_ns - running->looked_ns) >= running->plan->policy.look_s * 1e9;
}
/* Looks at them. step_un: finest change seen; bent: what bends the ramp now is no swing; warned:
 * warnings may come of it, for which the judging window's error is wanted. */
void running_look(struct running *running, const struct track *track, int64_t now_ns,
	int64_t step_un, bool bent, bool warned);

#endif
