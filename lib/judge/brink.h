/* SPDX-License-Identifier: MIT
 *
 * The brink: the last one or two readings before an explosive failure, behind the spike filter.
 * Where readings come seldom, a press that hunts or ripples changes the load between two of them by
 * as much as a spike does, and the specimen is gone before a later reading could deny it. What
 * tells the spike is how far it lies above the line through the readings before it: a swing that
 * was never so large is not larger of a sudden.
 *
 * A reading is held when it is above all before it, and above that line by more than brink_swings
 * times the most that any of those readings departs from it, and by spike_peak_fraction of it. It
 * is denied only if the next one, or the one after that, has lost so much (lost_fraction) that the
 * specimen is gone; otherwise it is passed on, one or two readings late. Nothing is doubted where
 * the line is not known. O(1), no allocation.
 */
#ifndef JUDGE_BRINK_H
#define JUDGE_BRINK_H

#include "judge/spike.h"
#include "judge/track.h"

enum { BRINK_HELD_MAX = 2 };

struct brink {
	const struct policy *policy;
	size_t held_count;
	struct sample held[BRINK_HELD_MAX];
};

void brink_init(struct brink *brink, const struct policy *policy);
/* Nobody can doubt the sample: nearly every one. False: it is for brink_feed to say. */
static inline bool brink_pass(
	const struct brink *brink, int64_t maximum_un, const struct sample *sample)
{
	return brink->held_count == 0 &&
	       ((double)sample->load_un <=
			       (double)maximum_un * (1 + brink->policy->spike_fraction) ||
		       brink->policy->rules < 4);
}
/* The next sample, after those on the track. since_ns: the load has run on undisturbed since then:
 * no gap, no step, no fall. */
void brink_feed(struct brink *brink, const struct track *track, int64_t since_ns,
	const struct sample *sample, struct spike_out *out);

#endif
