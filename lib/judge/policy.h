/* SPDX-License-Identifier: MIT
 *
 * Every threshold of the judgement: its name, unit, value and reason, in one place. The values in
 * force are stored with each run, so that an old run is judged again by what held on its day.
 * "Maximum" is the largest load so far while the run goes on, and the run's maximum afterwards.
 */
#ifndef JUDGE_POLICY_H
#define JUDGE_POLICY_H

#include <stddef.h>

/* X(name, default, "unit", "reason") */
#define POLICY_TABLE(X) \
	X(rules, 2, "1", \
		"which rules hold: raised where the judge answers differently for the same " \
		"readings and thresholds") \
	X(contact_s, 0.05, "s", "contact must last this long, so that a knock is no run") \
	X(release_s, 0.5, "s", "the load must stay off this long before it counts as released") \
	X(release_fraction, 0.02, "of the maximum", \
		"below this the load is off, even where the zero has drifted past contact") \
	X(alignment_fraction, 0.10, "of the anticipated load", \
		"a load below this, taken off again, is an alignment check (ASTM C39 8.4, from " \
		"memory)") \
	X(alignment_pa, 1e6, "Pa", \
		"the same where no load was anticipated: no concrete is so weak") \
	X(alignment_wait_s, 120, "s", \
		"how long a press may stand unloaded between the alignment " \
		"check and the test") \
	X(decline_fraction, 0.95, "of the maximum", \
		"below this and still falling, the specimen has broken (ASTM C39 lets nobody " \
		"stop " \
		"earlier, from memory)") \
	X(decline_to, 0.80, "of the maximum", \
		"the speed of the decline is measured down to here: the softest real specimens " \
		"were recorded to 80 %") \
	X(sudden_per_s, 0.8, "of the maximum per second", \
		"a valve opened by hand lets off more slowly, a brittle fracture is faster: real " \
		"cylinders fell at 1.4 and more") \
	X(sudden_s, 0.2, "s", "the time over which that fall is measured") \
	X(round_ratio, 1.4, "1", \
		"time spent near the maximum against that of a corner made by two straight " \
		"lines: " \
		"yielding rounds the top, a valve does not") \
	X(event_floor, 0.25, "of the maximum", \
		"below it the specimen is seating and the press finding its rate: stand-stills " \
		"and " \
		"falls there are no events") \
	X(drop_fraction, 0.017, "of the maximum so far", \
		"a corner that lets go costs 2 % or more; hunting presses were seen to fall by 1 " \
		"%") \
	X(drop_per_s, 0.05, "of the maximum per second", \
		"a fall faster than this is a drop, a slower one was let off") \
	X(drop_swings, 8, "1", \
		"a fall within this many standard deviations of the load about its ramp is noise " \
		"or hunting") \
	X(stall_fraction, 0.10, "of the run's own rate", "a slower rise is a stand-still") \
	X(stall_s, 2.0, "s", \
		"window of the stand-still; hunting presses kept a third of their rate over 2 s, " \
		"not over 1 s") \
	X(shock_fraction, 0.02, "of the maximum so far", "a step smaller than this is no shock") \
	X(shock_ratio, 8, "1", "the step must be this many times what the ramp explains") \
	X(shock_s, 0.1, "s", "the time within which a step is a step") \
	X(spike_noise, 10, "1", \
		"a jump this many times the usual change between samples is doubted") \
	X(spike_steps, 3, "1", "... and this many of the finest steps seen") \
	X(spike_fraction, 0.003, "of the maximum so far", "... and this part of the load") \
	X(stuck_s, 0.2, "s", "the same reading for less time is no fault") \
	X(stuck_steps, 5, "1", \
		"... nor where the load should have risen by less than this many " \
		"of the finest steps") \
	X(gap_intervals, 2.5, "1", \
		"readings missing for this many of the longest usual intervals " \
		"are a gap: readings may come in chunks") \
	X(gap_s, 0.15, "s", "... if it lasts this long") \
	X(zero_fraction, 0.001, "of the maximum", \
		"the unloaded press must read zero within this (ASTM E4 return to zero, from " \
		"memory)") \
	X(zero_s, 0.3, "s", "the press must stand unloaded this long before its zero can be told") \
	X(sigmas, 2, "1", \
		"an excursion counts when it exceeds its standard error this many times") \
	X(window_share, 0.3333333333333333, "of the judged span", "longest judging window") \
	X(window_samples, 5, "1", "fewer samples in a judging window are too few") \
	X(hunting_s, 2.4, "s", \
		"slower swings are the rate itself, faster ones hunting or noise: " \
		"presses hunt at 0.5 to 2.5 Hz") \
	X(yield_from, 0.85, "of the anticipated load", "from here on a falling rate is yielding") \
	X(yield_rate, 0.75, "of the run's own rate", "the rate has begun to fall by itself") \
	X(yield_rate_blind, 0.6, "of the run's own rate", \
		"the same where no load was anticipated") \
	X(yield_fall_s, 4.0, "s", \
		"... and then the rate must have kept falling for longer than this: a valve set " \
		"to a new rate is done within the window of the running rate and a hand's " \
		"while") \
	X(yield_back, 0.25, "of the run's own rate before it yielded", \
		"... and a rate that falls no more and is above this was the valve after all: a " \
		"specimen that yields stops falling only at its top") \
	X(live_s, 2.0, "s", "window of the running stress rate that a person sees") \
	X(warn_hunting, 1.1, "1", \
		"a warning needs a departure of this many times the most that the run's own " \
		"swing can do to the slope") \
	X(warn_s, 0.5, "s", "... that lasts this long")

/* Thresholds that sets stored earlier do not name, where the value in force then was not today's:
 * X(name, value then). Rules by number: 1, as they were first; 2, a run without a load names its
 * band, a small uncertainty is said to be small, a load gone unseen is interrupted. */
#define POLICY_BEFORE(X) \
	X(rules, 1) \
	X(yield_fall_s, 0)

struct policy {
#define POLICY_FIELD(name, value, unit, reason) double name;
	POLICY_TABLE(POLICY_FIELD)
#undef POLICY_FIELD
};

struct policy_entry {
	const char *name;
	double value; /* the default */
	const char *unit;
	const char *reason;
	size_t offset; /* of the double in struct policy */
};

void policy_defaults(struct policy *policy);
/* What held before each threshold was named in a stored set; the set's own values go on top. */
void policy_before(struct policy *policy);
/* The table as data, ended by an entry with a NULL name: for docs, storing and measuring. */
const struct policy_entry *policy_table(void);

#endif
