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
	X(rules, 4, "1", \
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
	X(round_ratio, 1.35, "1", \
		"time spent near the maximum against that of a corner made by two straight " \
		"lines: yielding rounds the top, a valve does not") \
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
	X(stall_surely, 0.3, "of the run's own rate", \
		"... and surely slower than this, however much the readings scatter") \
	X(stall_steps, 1, "1", \
		"... for longer than the ramp takes for so many of the finest steps: a coarse " \
		"reading stands still for so long by itself") \
	X(shock_fraction, 0.02, "of the maximum so far", "a step smaller than this is no shock") \
	X(shock_ratio, 8, "1", "the step must be this many times what the ramp explains") \
	X(shock_s, 0.1, "s", "the time within which a step is a step") \
	X(spike_noise, 10, "1", \
		"a jump this many times the usual change between samples is doubted") \
	X(spike_peak, 2.2, "1", \
		"... or, if that is less, this many times the largest usual change: a swing's " \
		"changes are never much larger than they usually are") \
	X(spike_peak_fraction, 0.03, "of the maximum so far", \
		"... and this part of the load: hunting presses were seen to jump by 1.4 % of a " \
		"sudden") \
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
	X(zero_kept_s, 36, "s", \
		"a zero is looked for in this time before contact: from a zero below nothing a " \
		"slow press takes half a minute to it") \
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
	X(warn_integral, 1.3, "of the usual swing", \
		"... where the most is known by its integral over time, and bursts exceed it by " \
		"this") \
	X(warn_sigmas, 3, "1", \
		"... and of this many standard errors: a run is looked at hundreds of times") \
	X(warn_s, 0.5, "s", "... that lasts this long") \
	X(alignment_contacts, 5, "contact loads", \
		"alignment check where no specimen is seated: nothing else is known then") \
	X(yield_over, 1.15, "of the yielding limit", \
		"a rate that has come back above this was no yielding; between the two it stays " \
		"what it was") \
	X(falling_share, 0.95, "of the running rate, followed", \
		"the rate is falling while it is below this: by a tenth a second, as in the last " \
		"ten seconds before a rounded top") \
	X(falling_s, 0.5, "s", "... followed with this time constant, a period of quick hunting") \
	X(lost_fraction, 0.5, "of the maximum", \
		"one sample that has lost so much is a fracture without a second one to confirm") \
	X(round_level, 0.96, "of the maximum", \
		"above it lies the top whose shape is looked at: just above decline_fraction") \
	X(flat_level, 0.99, "of the maximum", "... and above it the very top; for rules before 4") \
	X(ramp_from, 0.70, "of the maximum", \
		"the ramp under the top is measured from here, in two stretches: one of them may " \
		"hold a stand-still; for rules before 4") \
	X(ramp_middle, 0.82, "of the maximum", "... by way of here; for rules before 4") \
	X(ramp_to, 0.91, "of the maximum", \
		"... to here: beyond, a good specimen may round off; for rules before 4") \
	X(outline_from, 0.6, "of the maximum", \
		"no earlier than here begins the ramp on which the press's swing is looked at") \
	X(smooth_swing, 0.001, "of the maximum", \
		"a load that swings by more is smoothed before the shape of its top is looked " \
		"at: a tenth of what lies above flat_level; for rules before 4") \
	X(top_level, 0.90, "of the maximum", \
		"two outlines are fitted to the load above this, before the maximum and after " \
		"it: as far below decline_fraction as that is below the top") \
	X(corner_clear, 1.3, "1", \
		"a load was let off only where the outline with corners leaves so many times " \
		"less of the squares than the rounded one") \
	X(round_clear_ratio, 1.17, "1", \
		"round_ratio where the rounded outline is clearly the better one by as much") \
	X(round_sure_ratio, 1.5, "1", \
		"... and where the outline with corners is the better one, by less but surely") \
	X(corner_surely, 8, "1", \
		"... by so much in natural logarithms of the likelihood: of many readings a " \
		"small difference tells") \
	X(swing_fit_s, 12, "s", \
		"the press's swing at the top is that of so long a ramp before it: six turns of " \
		"the slowest hunting") \
	X(swing_explained, 0.2, "of the squares", \
		"... if one frequency explains so much of what the ramp leaves") \
	X(quickest_hz, 5, "Hz", "... and is no faster: quicker swings average out") \
	X(ripple_hz, 25, "Hz", \
		"... but where each reading counts alone no faster than this, a pump's ripple: " \
		"read " \
		"seldom, it looks like hunting") \
	X(swing_clear, 1.25, "1", \
		"... and another frequency is taken for it where the outlines leave so many " \
		"times " \
		"less of the squares with that") \
	X(swing_turns, 4, "turns", \
		"the outlines begin so many turns of the swing before the top ends, where " \
		"top_level " \
		"is nearer: of two turns it is not known what is swing and what is shape") \
	X(swing_same, 4, "of the squares", \
		"... unless they leave more than this of what they leave otherwise: the ramp was " \
		"not straight there") \
	X(kink_clear, 1.5, "1", \
		"the rate was changed on the ramp under the top where outlines with a kink there " \
		"leave so many times less of the squares") \
	X(kink_surely, 12, "1", \
		"... and so much less in natural logarithms of the likelihood: few readings have " \
		"kinks by chance") \
	X(later_top, 0.5, "of the maximum", \
		"a later top as high as this may be that of a specimen not broken before") \
	X(zero_same, 0.07, "of the zero", \
		"before and after the run the zero is the same within this") \
	X(zero_flat, 0.08, "of the run's mean rate", \
		"a reading that changes by less before contact is the zero, more is an approach") \
	X(fall_begun, 0.3, "of drop_fraction", "a fall has begun where so much is lost") \
	X(fall_recovered, 0.3333333333333333, "of what it lost", \
		"the load has gone on from a fall when it has risen by this") \
	X(made_good, 1.25, "of what the swing takes off", \
		"a fall that is made good before it is certain must be larger than this") \
	X(trough_fraction, 0.5, "of the top", \
		"below it the specimen is broken or unloaded: no corner costs so much") \
	X(stall_over, 0.5, "of the run's own rate", \
		"the load has gone on from a stand-still when its rate is back to this") \
	X(once_s, 1, "s", \
		"what comes again within this time is the same shock, the same excess of the " \
		"range") \
	X(shock_learn_s, 2, "s", \
		"time constant of the usual change over shock_s: a few swings of the press") \
	X(gap_learnt, 8, "intervals", "... before a gap can be told from the usual interval") \
	X(gap_forgotten, 0.015625, "of the longest interval", \
		"forgotten with each sample: the usual interval is that of the last hundred") \
	X(block_s, 0.1, "s", "hunting is measured in blocks of this: 2.5 Hz has four in a period") \
	X(burst_square, 9, "of the usual mean square", \
		"presses hunt in bursts of at most this; beyond it is a kink in the rate and no " \
		"swing") \
	X(look_s, 0.01, "s", \
		"rates are looked at no more often: a hundredth of the quickest hunting's swing") \
	X(own_rate_s, 8, "s", \
		"the run's own rate is forgotten with this time constant: longer than hunting, " \
		"shorter than a test") \
	X(window_full, 0.8, "of its length", \
		"a window that spans this is full: samples are discrete, and a short gap at its " \
		"start must not hide the rest") \
	X(window_begun, 0.5, "of its length", "... and says something of a rate from here on") \
	X(window_spread, 0.7, "of evenly spread samples", \
		"least variance in time of a window's samples: those on one side of a gap say " \
		"nothing of the other") \
	X(window_looks, 100, "a window", \
		"looks of the verdict: between two a slope moves by a fiftieth of any excursion") \
	X(swing_s, 5, "s", "the load's swing about its ramp is averaged over this time") \
	X(swing_factor, 2, "1", \
		"one look may exceed the swing known by this: a bend or a fall is no swing") \
	X(swing_most, 0.035, "of the maximum", \
		"no press swings by a larger standard deviation where its load comes down") \
	X(slowest_hz, 0.5, "Hz", "the slowest hunting seen on presses: it moves a slope most") \
	X(spike_share, 0.0078125, "1", \
		"share of the newest change in the usual one: slow enough to be steady") \
	X(spike_doubted_share, 0.0625, "1", \
		"... but of a doubted change: a pump that starts to ripple makes many") \
	X(spike_quiet, 8, "changes", \
		"... which is forgotten when so many are again as before it: that was a spike") \
	X(spike_peak_forgotten, 0.000244140625, "of the largest change", \
		"forgotten with each sample: that of the last few thousand") \
	X(spike_peak_known, 100, "changes", "... once it is that of so many") \
	X(brink_s, 4, "s", \
		"where the load is lost within a reading, the last ones before are compared with " \
		"so long a ramp: two turns of the slowest hunting") \
	X(brink_swings, 2, "1", \
		"... and are spikes if they depart upwards from its line by this many times the " \
		"most that it departs by itself") \
	X(spike_warm_up, 24, "changes", \
		"... before anything is doubted: the usual change is not known") \
	X(stuck_risen, 0.5, "of what the own rate explains", \
		"the rise behind the back of stuck readings that tells them from a stand-still") \
	X(rhythm_falls, 3, "1", \
		"so many falls, each within hunting_s of the one before, are a press that hunts: " \
		"two corners may let go one after the other") \
	X(stuck_gone, 4, "1", \
		"where the load is gone after them they should have risen by this many times the " \
		"least rise: a round top keeps one step of a coarse indicator for a quarter of " \
		"it") \
	X(noise_margin_s, 3, "s", \
		"noise is measured this much beyond the judged span: more than a slow swing") \
	X(yielding_slower, 1.3, "1", \
		"the specimen was yielding when the last tenth took this much longer than at the " \
		"span's mean rate")

/* Thresholds that sets stored earlier do not name, where the value in force then was not today's:
 * X(name, value then). Rules by number: 1, as they were first; 2, a run without a load names its
 * band, a small uncertainty is said to be small, a load gone unseen is interrupted; 3, a fall
 * that hunting explains is no end; 4, u takes a ripple for no noise and a kink for no swing, a
 * stand-still has no fall and no step of the indicator in it, a fall, a shock and stuck readings
 * are told by what was known before them, the shape of a top by all of its readings, a spike by the
 * largest usual change and by how it goes back. */
#define POLICY_BEFORE(X) \
	X(rules, 1) \
	X(yield_fall_s, 0) \
	X(stall_surely, 0.10) \
	X(warn_integral, 0) \
	X(warn_sigmas, 2) \
	X(stall_steps, 0) \
	X(zero_kept_s, 9.6)

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
