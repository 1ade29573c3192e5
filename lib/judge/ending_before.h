/* SPDX-License-Identifier: MIT
 *
 * The shape of a top as it was judged before rules 4.
 */
#ifndef JUDGE_ENDING_BEFORE_H
#define JUDGE_ENDING_BEFORE_H

#include "judge/policy.h"
#include "judge/track.h"

/* The specimen yielded at the sample `top`; `below`: the first one below decline_fraction. */
bool ending_before_round(const struct track *track, size_t top, size_t below,
	const struct policy *policy, double swing_n);

#endif
