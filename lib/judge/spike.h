/* SPDX-License-Identifier: MIT
 *
 * The spike filter: a sample that jumps away and is denied by the next ones is no load. It is taken
 * out of the way and reported; whatever stays is passed on, at most two samples late.
 *
 * A jump is doubted when it is larger than all of: spike_noise times the usual change between
 * samples (or, once many are known, spike_peak times the largest usual one and
 * spike_peak_fraction of the maximum so far, if that is less: it is for a swing), spike_steps of
 * the finest step seen, spike_fraction of the maximum so far. A doubted sample is denied when the
 * load is back within two samples and at once, or when the next
 * one lies on the other side (a spike just before an explosive failure). Three in a row on one
 * side are real, and so are two from which the load goes on: a break, a corner; then the next few
 * are trusted too, since a fall is steeper than any doubt allows, unless they change by more than
 * spike_noise times what these did. Nor is the first sample after a gap doubted.
 *
 * A doubted change teaches a little what is usual, since a pump that starts to ripple makes many;
 * where the next spike_quiet changes are as they were before, it is forgotten. What the load rose
 * by behind the back of stuck readings is denied only by a load that is back, not by a fall.
 * O(1), no allocation.
 */
#ifndef JUDGE_SPIKE_H
#define JUDGE_SPIKE_H

#include "judge/policy.h"
#include "measure/sample.h"

#include <stdbool.h>
#include <stddef.h>

enum { SPIKE_HELD_MAX = 3 };

struct spike {
	const struct policy *policy;
	struct sample last; /* newest sample passed on */
	bool started;
	unsigned seen;      /* changes learnt from, up to seen_max */
	double seen_max;    /* both the usual change and the largest are known */
	double share;       /* of the next change in the usual one */
	double usual_un;    /* usual change between samples, exponentially averaged */
	double peak_un;     /* largest usual change, slowly forgotten */
	int64_t step_un;    /* finest change seen; 0: none yet */
	int64_t maximum_un; /* of the samples passed on */
	unsigned
		trusted; /* samples to pass without doubt: the load has just changed for good ... */
	double trusted_un; /* ... if they change by no more than this */
	double limit_un;   /* doubt limit, fixed while samples are held */
	unsigned quiet; /* changes that must be as before for a doubted one to be forgotten ... */
	double usual_before_un, peak_before_un; /* ... and what was known before it */
	bool explained; /* what is held is no jump: only a load that is back where it was denies it
			 */
	size_t held_count;
	struct sample held[SPIKE_HELD_MAX];
};

/* What comes out: samples passed on, in order, and samples denied. */
struct spike_out {
	size_t count;
	struct sample passed[SPIKE_HELD_MAX];
	size_t denied_count;
	struct sample denied[SPIKE_HELD_MAX];
};

void spike_init(struct spike *spike, const struct policy *policy);
/* Passes a sample on that nobody can doubt, and tells so: nearly every one. False: it is for
 * spike_feed to say. */
bool spike_pass(struct spike *spike, const struct sample *sample);
/* Before the next sample readings are missing: the load had time to change by anything. */
void spike_after_gap(struct spike *spike);
void spike_feed(struct spike *spike, const struct sample *sample, struct spike_out *out);
/* The samples still held, as if none came after them: falls are passed, jumps up are denied. */
void spike_flush(struct spike *spike, struct spike_out *out);

#endif
