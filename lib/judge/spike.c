/* SPDX-License-Identifier: MIT
 *
 * Doubt, denial and acceptance of samples; see spike.h for the rule.
 */
#include "judge/spike.h"

#include "base/larger.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

void spike_init(struct spike *spike, const struct policy *policy)
{
	*spike = (struct spike){.policy = policy,
		.seen_max = larger(1 / policy->spike_share, policy->spike_peak_known)};
}

static double doubt_from(const struct spike *spike)
{
	const struct policy *policy = spike->policy;
	double limit = policy->spike_noise * spike->usual_un;
	if (policy->rules >= 4 && spike->seen >= spike->seen_max) {
		double peak = larger(policy->spike_peak * spike->peak_un,
			policy->spike_peak_fraction * (double)spike->maximum_un);
		limit = smaller(limit, peak);
	}
	limit = larger(limit, policy->spike_steps * (double)spike->step_un);
	return larger(limit, policy->spike_fraction * (double)spike->maximum_un);
}

static int64_t change_from_last(const struct spike *spike, const struct sample *sample)
{
	return sample->load_un - spike->last.load_un;
}

/* A doubted change is forgotten when so many are again as they were before it: that was a spike. A
 * pump that has started goes on. */
static void forget_doubted(struct spike *spike, double change)
{
	if (change > spike->policy->spike_noise * spike->usual_before_un) {
		spike->quiet = 0;
		return;
	}
	if (--spike->quiet > 0)
		return;
	spike->usual_un = spike->usual_before_un;
	spike->peak_un = spike->peak_before_un;
}

/* A jump must not teach the filter to expect jumps: beyond the limit nothing is learnt. */
static void learn_change(struct spike *spike, double change, double limit)
{
	double learnt =
		spike->seen < spike->policy->spike_warm_up ? change : smaller(change, limit);
	if (spike->seen < spike->seen_max) {
		spike->seen++;
		spike->share = larger(spike->policy->spike_share, 1.0 / spike->seen);
	}
	spike->usual_un += (learnt - spike->usual_un) * spike->share;
	spike->peak_un = larger(learnt, spike->peak_un * (1 - spike->policy->spike_peak_forgotten));
	if (spike->quiet > 0)
		forget_doubted(spike, change);
}

/* One that is doubted teaches a little: a pump that starts to ripple makes many. */
static void learn_doubted(struct spike *spike, double change)
{
	const struct policy *policy = spike->policy;
	double most = policy->spike_noise * spike->usual_un;
	if (spike->quiet == 0) {
		spike->usual_before_un = spike->usual_un;
		spike->peak_before_un = spike->peak_un;
	}
	/* an idle press changes by less than a step; that says nothing of one that loads */
	bool known = policy->rules >= 4 && spike->usual_before_un > (double)spike->step_un;
	spike->quiet = known ? (unsigned)policy->spike_quiet : 0;
	spike->usual_un +=
		(smaller(change, spike->limit_un) - spike->usual_un) * policy->spike_doubted_share;
	spike->peak_un += (smaller(change, most) - spike->peak_un) * policy->spike_doubted_share;
}

static void keep(struct spike *spike, const struct sample *sample)
{
	spike->last = *sample;
	spike->started = true;
	if (sample->load_un > spike->maximum_un)
		spike->maximum_un = sample->load_un;
}

static void pass(struct spike *spike, const struct sample *sample, struct spike_out *out)
{
	double change = fabs((double)change_from_last(spike, sample));
	if (spike->started)
		learn_change(spike, change, doubt_from(spike));
	keep(spike, sample);
	assert(out->count < SPIKE_HELD_MAX);
	out->passed[out->count++] = *sample;
}

static void pass_held(struct spike *spike, struct spike_out *out)
{
	for (size_t i = 0; i < spike->held_count; i++)
		pass(spike, &spike->held[i], out);
	spike->held_count = 0;
}

/* Back as a spike is: at once, and not as a load that fell and rises again. */
static bool gone_back(const struct spike *spike, const struct sample *sample)
{
	if (spike->policy->rules < 4 || spike->held_count == 0)
		return true;
	int64_t jump = change_from_last(spike, &spike->held[0]);
	int64_t step = sample->load_un - spike->held[spike->held_count - 1].load_un;
	return llabs(step) >= llabs(jump) / 2;
}

/* Three on one side of where the load was: it has changed for good. The samples after them may
 * change as these did, and several times more, but one that jumps out of all proportion is doubted
 * still. */
static void accept_held(struct spike *spike, struct spike_out *out)
{
	int64_t largest = 0;
	for (size_t i = 0; i < SPIKE_HELD_MAX; i++) {
		int64_t change = llabs(change_from_last(spike, &spike->held[i]));
		largest = change > largest ? change : largest;
		pass(spike, &spike->held[i], out);
	}
	spike->held_count = 0;
	spike->trusted = SPIKE_HELD_MAX;
	spike->trusted_un = spike->policy->spike_noise * (double)largest;
}

static void deny_held(struct spike *spike, struct spike_out *out)
{
	for (size_t i = 0; i < spike->held_count; i++)
		out->denied[out->denied_count++] = spike->held[i];
	spike->held_count = 0;
}

static void learn_step(struct spike *spike, int64_t change)
{
	int64_t size = llabs(change);
	if (size > 0 && (spike->step_un == 0 || size < spike->step_un))
		spike->step_un = size;
}

/* A sample that is to the held ones as a load to a spike denies them; one that is to them as a
 * spike to a load tells nothing of them, and nobody else doubts them. */
static void weigh_held(struct spike *spike, const struct sample *sample, struct spike_out *out)
{
	double size = fabs((double)change_from_last(spike, sample)), largest = 0;
	for (size_t i = 0; i < spike->held_count; i++)
		largest = fmax(largest, fabs((double)change_from_last(spike, &spike->held[i])));
	if (spike->held_count == 0)
		return;
	if (size * spike->policy->spike_noise < largest)
		deny_held(spike, out);
	bool same_side = (change_from_last(spike, sample) > 0) ==
			 (change_from_last(spike, &spike->held[0]) > 0);
	if (!same_side || size <= spike->policy->spike_noise * largest)
		return;
	pass_held(spike, out);
}

bool spike_pass(struct spike *spike, const struct sample *sample)
{
	if (!spike->started || spike->held_count > 0 || spike->trusted > 0)
		return false;
	int64_t change = change_from_last(spike, sample);
	learn_step(spike, change);
	double size = fabs((double)change);
	/* no doubt begins below this (see doubt_from), and nearly every change is */
	bool small = size <= spike->policy->spike_fraction * (double)spike->maximum_un;
	if (!small && spike->seen >= spike->policy->spike_warm_up && size > doubt_from(spike))
		return false;
	learn_change(spike, size, size);
	keep(spike, sample);
	return true;
}

void spike_after_gap(struct spike *spike)
{
	if (spike->policy->rules < 4)
		return;
	spike->trusted = 1;
	spike->trusted_un = INFINITY;
}

/* How many changes the load has made since the last one that passed. */
static double since_last(const struct spike *spike)
{
	return spike->policy->rules >= 4 ? (double)(spike->held_count + 1) : 1;
}

void spike_feed(struct spike *spike, const struct sample *sample, struct spike_out *out)
{
	out->count = out->denied_count = 0;
	if (!spike->started) {
		pass(spike, sample, out);
		return;
	}
	const struct sample *before =
		spike->held_count > 0 ? &spike->held[spike->held_count - 1] : &spike->last;
	learn_step(spike, sample->load_un - before->load_un);
	weigh_held(spike, sample, out);
	int64_t change = change_from_last(spike, sample);
	bool trusted = spike->seen < spike->policy->spike_warm_up ||
		       (spike->trusted > 0 && fabs((double)change) <= spike->trusted_un);
	if (spike->held_count == 0)
		spike->limit_un = doubt_from(spike);
	double limit = spike->limit_un;
	if (spike->held_count > 0) /* back is back by half of the jump at least */
		limit = smaller(limit * since_last(spike),
			fabs((double)change_from_last(spike, &spike->held[0])) / 2);
	if (trusted || fabs((double)change) <= limit) {
		spike->trusted -= spike->trusted > 0;
		if (gone_back(spike, sample))
			deny_held(spike, out);
		pass_held(spike, out);
		pass(spike, sample, out);
		return;
	}
	if (spike->held_count > 0 &&
		(change > 0) != (change_from_last(spike, &spike->held[0]) > 0)) {
		if (spike->explained)
			pass_held(spike, out);
		deny_held(spike, out);
	}
	learn_doubted(spike, fabs((double)change));
	spike->explained = spike->explained && spike->held_count > 0;
	spike->held[spike->held_count++] = *sample;
	if (spike->held_count < SPIKE_HELD_MAX)
		return;
	accept_held(spike, out);
}

void spike_flush(struct spike *spike, struct spike_out *out)
{
	out->count = out->denied_count = 0;
	if (spike->held_count > 0 && change_from_last(spike, &spike->held[0]) > 0) {
		deny_held(spike, out);
		return;
	}
	pass_held(spike, out);
}
