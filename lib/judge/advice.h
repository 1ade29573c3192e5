/* SPDX-License-Identifier: MIT
 *
 * What to tell the person at the valve. Warnings move faster than the verdict, but never on hunting
 * alone: a departure must exceed what the run's own swing can do to the slope of its window, and
 * last.
 */
#ifndef JUDGE_ADVICE_H
#define JUDGE_ADVICE_H

#include "judge/judge.h"
#include "judge/plan.h"

struct adviser {
	const struct plan *plan;
	int64_t beyond_ns; /* since when the rate has been beyond a limit; 0: it is not */
	int side;          /* +1 above, -1 below, 0 within, as announced */
	int pending;       /* the same, before it has lasted */
};

/* Rates at one moment, in N/s as they were fitted: in the band's unit somebody seldom wants them.
 */
struct advice_rates {
	bool known;
	double live, live_error; /* of the short window */
	bool within;             /* the short window lies within the band's part of the run */
	double judging, judging_error;
	bool judging_full;      /* the judging window is full */
	double residual_n;      /* of the load about its ramp: the press's swing */
	double integral_square; /* of that swing over time, as it usually is, in (N s)^2; 0: not
				   known */
	double window_reach;    /* share of the short window that there is */
};

/* From N/s to the band's unit per second; 0 while the area is not known. */
double advice_unit(const struct plan *plan, double rate_n_s);

void advice_init(struct adviser *adviser, const struct plan *plan);
/* Once per tick while the load rises. */
void advice_learn(struct adviser *adviser, const struct advice_rates *rates, int64_t now_ns,
	bool in_band_phase);
/* Fills in advice, warning and text of live, whose other fields are set. standing: the load stands
 * still. */
void advice_say(const struct adviser *adviser, const struct advice_rates *rates, bool standing,
	struct live *live);

#endif
