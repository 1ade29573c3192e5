/* SPDX-License-Identifier: MIT
 *
 * A press made of straight pieces and roundings, for the judge's tests: the truth is known because
 * the test draws it. Loads in N, times in s; noise, ripple, hunting and resolution are laid over
 * the drawn curve when a sample is taken.
 */
#ifndef TESTS_UNIT_JUDGE_PRESS_H
#define TESTS_UNIT_JUDGE_PRESS_H

#include "judge/judge.h"
#include "judge/track.h"
#include "unit/random.h"

#include <stddef.h>
#include <stdint.h>

enum { PRESS_SAMPLES_MAX = 400000 };

struct press {
	double hz;
	double noise_n;           /* standard deviation, white */
	double step_n;            /* resolution; 0: fine */
	double swing_n, swing_hz; /* a hunting regulator or a pump: amplitude and frequency */
	struct random random;
	/* state */
	double time_s, load_n; /* drawn so far */
	double due_s;          /* time of the next sample */
	size_t count;
	struct sample samples[PRESS_SAMPLES_MAX];
};

/* A new press of hz samples per second; free() it. */
struct press *press_new(double hz);
/* To load at a rate (sign taken from the direction). */
void press_to(struct press *press, double load_n, double rate_n_s);
void press_hold(struct press *press, double seconds);
/* From the present load, rising at rate_n_s, in a parabola to the top at maximum_n. */
void press_round(struct press *press, double maximum_n, double rate_n_s);
/* The load is another one from the next sample on. */
void press_jump(struct press *press, double load_n);
/* No samples for a while; the load goes on at the rate. */
void press_gap(struct press *press, double seconds, double rate_n_s);
/* All samples drawn, as the judge's own parts see them. free() its points. */
struct track press_track(const struct press *press);
/* Judges all samples drawn. */
void press_judge(const struct press *press, const struct plan *plan, struct judgement *judgement);
/* How many events of a kind a judgement has. */
size_t press_events(const struct judgement *judgement, enum event_kind kind);

#endif
