/* SPDX-License-Identifier: MIT
 *
 * Stuck readings: a cell that sends the same value again and again while the load goes on. What
 * tells it from a stand-still is the end: after a stand-still the load goes on from where it stood,
 * after stuck readings it has risen behind their back. Those readings say nothing; they are taken
 * off the track, which leaves a gap.
 */
#ifndef JUDGE_STUCK_H
#define JUDGE_STUCK_H

#include "judge/policy.h"
#include "judge/track.h"

struct stuck {
	int64_t load_un;
	int64_t since_ns, last_ns; /* first and last reading of this value */
	size_t count;              /* readings of this value after the first */
	double own_n_s, least_n;   /* as they were when the second one came: while readings
				    * are stuck, the rate that is known falls to nothing */
};

void stuck_init(struct stuck *stuck);
/* For how long the same reading has come, in s. */
static inline double stuck_lasted_s(const struct stuck *stuck)
{
	return (double)(stuck->last_ns - stuck->since_ns) * 1e-9;
}
/* Takes the next load if there is nothing to say: another one, and the last came twice at most.
 * Nearly every load is such a one, hence inline. */
static inline bool stuck_pass(struct stuck *stuck, struct slope_point now)
{
	if (now.load_un == stuck->load_un || stuck->count >= 2)
		return false;
	*stuck = (struct stuck){
		.load_un = now.load_un, .since_ns = now.time_ns, .last_ns = now.time_ns};
	return true;
}
/* Takes the next load, before it goes on the track. Returns how many samples at the end of the
 * track were stuck (0: none). own: the run's own rate in N/s; least_n: a rise below this is
 * nothing to go by (noise, resolution). */
size_t stuck_feed(struct stuck *stuck, const struct policy *policy, struct slope_point now,
	double own_n_s, double least_n);
/* They were stuck until the load was gone, told before this one is fed: what the load rose to in
 * the meantime nobody knows. Unlike above they stay on the track, since the load fell after the
 * last of them. */
bool stuck_until_gone(
	const struct stuck *stuck, const struct policy *policy, struct slope_point now);
/* So large a rise is what the load does behind the back of readings that are stuck: no jump. */
bool stuck_explains(const struct stuck *stuck, const struct policy *policy, struct slope_point now);
/* After the track was thinned. */
void stuck_thinned(struct stuck *stuck);

#endif
