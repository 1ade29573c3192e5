/* SPDX-License-Identifier: MIT
 *
 * The shape of a top: which of two outlines lies closer to all of its samples, by least squares.
 *
 * - Cornered: the ramp, straight; perhaps a hold, level; the fall, straight. That is what a valve
 *   makes of a load.
 * - Rounded: the ramp, then a rate that falls evenly to nothing and on to that of the fall. That is
 *   what a specimen makes of it that yields.
 *
 * Times at single levels cannot tell the two apart: noise, coarse steps and a swing move each of
 * them. The press's own swing is part of both outlines, and so is one change of the rate on the
 * ramp, where both fit clearly better with it.
 */
#ifndef JUDGE_TOP_H
#define JUDGE_TOP_H

#include "judge/policy.h"
#include "judge/track.h"

/* An outline: its rate falls evenly from ramp to 0 between bend[0] and bend[1], stays 0 up to
 * bend[2], and falls evenly to -fall between bend[2] and bend[3]. Times in s after the highest
 * sample, loads in parts of it. */
struct top_outline {
	double bend[4];
	double ramp, fall;
	double square; /* mean square of what it leaves */
};

/* Bends and rates are as many unknowns as this. */
enum { TOP_POINTS_MIN = 8 };

struct top_shape {
	struct top_outline cornered, rounded;
	double hz;    /* of the swing in them; 0: none */
	size_t count; /* samples, or means of several, that they were fitted to */
};

/* Samples, `top` being the highest. */
struct top_span {
	size_t from, top, to;
};

/* Fits both. hz: of the press's swing on the ramp; 0: it has none. False if there are too few
 * samples. */
bool top_fit(const struct track *track, const struct top_span *span, double hz,
	const struct policy *policy, struct top_shape *shape);
/* The one that leaves less. */
const struct top_outline *top_better(const struct top_shape *shape);

#endif
