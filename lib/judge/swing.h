/* SPDX-License-Identifier: MIT
 *
 * How fast a press swings: the frequency of the sine that explains most of what a ramp leaves of
 * its samples.
 */
#ifndef JUDGE_SWING_H
#define JUDGE_SWING_H

#include "judge/policy.h"
#include "judge/track.h"

enum { SWING_POINTS_MAX = 256 };

/* Means of groups of `size` samples, and of their loads what is to be explained. */
struct swing_points {
	size_t count, size;
	double time_s[SWING_POINTS_MAX], load[SWING_POINTS_MAX];
};

/* The frequency in Hz of the sine that explains most, and what share of the squares of the loads
 * (0: none does). Where each sample counts alone and times are uneven, a pump's ripple is told from
 * the slow hunting that it looks like, read so seldom. O(points). */
double swing_strongest(
	const struct swing_points *points, const struct policy *policy, double *share);
/* How fast a swing seems that is read at this pace. */
double swing_seen_hz(double hz, double pace_hz);
/* The frequency in Hz from slowest_hz on, from the samples `from` to `to` about the
 * parabola through them; 0 where no sine explains enough of it. O(samples). */
double swing_frequency(
	const struct track *track, size_t from, size_t to, const struct policy *policy);

#endif
