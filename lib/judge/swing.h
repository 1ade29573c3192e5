/* SPDX-License-Identifier: MIT
 *
 * How fast a press swings: the frequency of the sine that explains most of what a ramp leaves of
 * its samples.
 */
#ifndef JUDGE_SWING_H
#define JUDGE_SWING_H

#include "judge/policy.h"
#include "judge/track.h"

/* The frequency in Hz between slowest_hz and quickest_hz, from the samples `from` to `to` about the
 * parabola through them; 0 where no sine explains enough of it. O(samples). */
double swing_frequency(
	const struct track *track, size_t from, size_t to, const struct policy *policy);

#endif
