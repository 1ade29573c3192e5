/* SPDX-License-Identifier: MIT
 *
 * How a run ended: whether the load fell because the specimen broke or because it was let off. The
 * falling load alone does not tell; its speed and the shape of the top do.
 *
 * - Sudden: the load falls faster than a valve lets it (policy.sudden_per_s): a fracture.
 * - Rounded top: the specimen yielded, so it broke, however slowly it declines. Two outlines are
 *   fitted to the whole top (top.h). A load that fell is taken for broken unless the cornered
 *   outline is clearly the better one, or the rounded one is hardly rounder than a corner: than
 *   less of one where the rounded outline is clearly the better one, than more of one where the
 *   cornered one surely is.
 * - A record whose only sample below decline_fraction is its last one, and above half of the top,
 *   shows no fall that went on: without a rounded top that counts as let off.
 * - Cornered top, held or not: the load was let off.
 */
#ifndef JUDGE_ENDING_H
#define JUDGE_ENDING_H

#include "judge/policy.h"
#include "judge/track.h"

#include <stdbool.h>
#include <stdint.h>

enum fall {
	FALL_NONE,   /* the load did not fall below decline_fraction of the top and go on falling */
	FALL_BROKEN, /* the specimen broke */
	FALL_LET_OFF, /* the load was taken off */
};

/* The load falls after the sample `top` faster than any valve lets it. swing_n: usual standard
 * deviation of the load about its ramp. */
bool ending_sudden(
	const struct track *track, size_t top, const struct policy *policy, double swing_n);
/* Judges the fall after the sample `top` (the largest one around it). O(samples). */
enum fall ending_fall(
	const struct track *track, size_t top, const struct policy *policy, double swing_n);

#endif
