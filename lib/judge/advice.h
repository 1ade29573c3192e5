/* SPDX-License-Identifier: MIT
 *
 * What to tell the person at the valve. Warnings move faster than the verdict, but never on hunting
 * alone: a departure of the short window must exceed the run's own swing about its rate and last;
 * a departure of the judging window must exceed its uncertainty.
 */
#ifndef JUDGE_ADVICE_H
#define JUDGE_ADVICE_H

#include "judge/judge.h"
#include "judge/plan.h"

struct adviser {
	const struct plan *plan;
	double swing;      /* usual distance of the short window from the judging window */
	double learnt_s;   /* time learnt from */
	int64_t beyond_ns; /* since when the rate has been beyond a limit; 0: it is not */
	int side;          /* +1 above, -1 below, 0 within, as announced */
	int pending;       /* the same, before it has lasted */
};

/* Rates in the band's unit per second, at one moment. */
struct advice_rates {
	bool known;
	double live, live_error; /* of the short window */
	bool within;             /* the short window lies within the band's part of the run */
	double reach;            /* how full the short window is, 0.5 to 1 */
	double judging, judging_error;
	bool judging_full; /* the judging window is full */
};

void advice_init(struct adviser *adviser, const struct plan *plan);
/* Once per tick while the load rises. */
void advice_learn(struct adviser *adviser, const struct advice_rates *rates, int64_t now_ns,
	double tick_s, bool in_band_phase);
/* Fills in advice, warning and text of live, whose other fields are set. standing: the load stands
 * still. */
void advice_say(const struct adviser *adviser, const struct advice_rates *rates, bool standing,
	struct live *live);

#endif
