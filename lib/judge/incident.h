/* SPDX-License-Identifier: MIT
 *
 * What happens to a load besides rising: it stands still, jumps, falls and recovers, is let off;
 * and what happens to its readings: they stop for a while, they go out of range. Fed with every
 * sample of the run, O(1); adds to the findings what is certain.
 *
 * A stand-still or a fall is certain only when the load has gone on from it: before that it may be
 * the specimen yielding or breaking.
 */
#ifndef JUDGE_INCIDENT_H
#define JUDGE_INCIDENT_H

#include "judge/findings.h"
#include "judge/plan.h"
#include "judge/track.h"

/* What the windows say at the newest sample; rates in N/s. */
struct incident_rates {
	bool known;
	double live;       /* over policy.live_s */
	double live_error; /* its standard error */
	double own;   /* the run's own rate: slowly forgotten highest rate of the judging window */
	double swing; /* usual standard deviation of the load about its ramp, in N */
	double step;  /* finest change seen, in N */
};

struct incident {
	const struct plan *plan;
	struct findings *findings;
	/* readings */
	bool any;
	int64_t last_ns, last_un;
	double longest_ns; /* longest usual interval, slowly forgotten */
	unsigned interval_count;
	int64_t over_ns;              /* when a reading was last beyond the range */
	int64_t lost_ns, repeated_ns; /* likewise */
	unsigned late_count;          /* late samples since the newest one that was not */
	/* the top of the present rise, and the trough after it */
	int64_t top_un, top_ns;
	int64_t near_ns; /* when the load was last close to the top */
	int64_t low_un;
	int64_t lower_ns;  /* when the load, being down, last fell lower still */
	double down_un;    /* what it had lost when it was seen to be down */
	double top_swing;  /* the swing known at the top, in N: the fall itself is none */
	int64_t fresh_ns;  /* when the load last went on after a step, fall, gap, stuck readings */
	int64_t passed_un; /* a maximum that a fall has left behind, to be passed again; 0: none */
	/* stand-still */
	bool flat;     /* the load hardly rises ... */
	bool standing; /* ... for longer than its resolution explains */
	int64_t stand_since_ns, stand_last_ns, stand_un;
	/* step */
	size_t step_from; /* track index at shock_s before the newest sample */
	int64_t shock_ns;
	double ramp_before;   /* live rate before the newest sample, N/s */
	double step_learnt_s; /* time learnt from */
	double usual_step_n;  /* usual change over shock_s: ramp, ripple and hunting */
	double step_before_s, step_before_n; /* both, before the newest reading came first */
};

void incident_init(struct incident *incident, const struct plan *plan, struct findings *findings);
/* now: the newest sample of the track, which is no spike, handed over since the processor has not
 * yet written it where it would be read. bearing: the load is beyond seating. */
void incident_feed(struct incident *incident, const struct track *track, struct slope_point now,
	const struct incident_rates *rates, bool bearing);
/* Any sample, as it came, spike or not. loaded: the press bears on the specimen. */
void incident_reading(struct incident *incident, const struct sample *sample, bool loaded);
/* The load is off: a new rise begins with the next contact. */
void incident_release(struct incident *incident);
/* Stuck readings were taken off the track: what they looked like did not happen. */
void incident_unstick(struct incident *incident, const struct track *track, int64_t now_ns);
/* After the track was thinned. */
void incident_thinned(struct incident *incident);

#endif
