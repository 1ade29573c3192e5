/* SPDX-License-Identifier: MIT
 *
 * Stand-stills, steps, falls, gaps; see incident.h.
 */
#include "judge/incident.h"

#include "base/larger.h"

#include <math.h>

void incident_init(struct incident *incident, const struct plan *plan, struct findings *findings)
{
	*incident = (struct incident){.plan = plan,
		.findings = findings,
		.shock_ns = INT64_MIN / 2,
		.over_ns = INT64_MIN / 2,
		.lost_ns = INT64_MIN / 2,
		.repeated_ns = INT64_MIN / 2,
		.fresh_ns = INT64_MIN / 2};
}

void incident_thinned(struct incident *incident)
{
	incident->step_from = incident->step_from / 2;
}

void incident_unstick(struct incident *incident, const struct track *track, int64_t now_ns)
{
	incident->standing = false;
	incident->fresh_ns = now_ns;
	if (incident->step_from >= track->count)
		incident->step_from = track->count - 1;
}

void incident_release(struct incident *incident)
{
	incident->top_un = 0;
	incident->low_un = 0;
	incident->passed_un = 0;
	incident->standing = false;
}

static void watch_range(struct incident *incident, const struct sample *sample)
{
	if ((sample->flags & SAMPLE_OVER_RANGE) == 0)
		return;
	if ((double)(sample->time.ns - incident->over_ns) > incident->plan->policy.once_s * 1e9)
		findings_add(incident->findings, EVENT_OVER_RANGE, sample->time.ns, sample->time.ns,
			sample->load_un, "beyond the capacity: the load may be larger than %.1f kN",
			(double)sample->load_un * 1e-9);
	incident->over_ns = sample->time.ns;
}

static void watch_gap(struct incident *incident, const struct sample *sample, bool loaded)
{
	const struct policy *policy = &incident->plan->policy;
	double interval = (double)(sample->time.ns - incident->last_ns);
	double limit = policy->gap_intervals * incident->longest_ns;
	bool known = incident->interval_count >= policy->gap_learnt;
	bool gap = known && interval > larger(limit, policy->gap_s * 1e9);
	if (gap)
		incident->fresh_ns = sample->time.ns;
	if (loaded && incident->late_count > 0)
		findings_add(incident->findings, EVENT_LATE, incident->last_ns, sample->time.ns,
			incident->last_un,
			"%u %s held up and came at once after %.2f s: good for the maximum, not for"
			" the rate",
			incident->late_count,
			incident->late_count == 1 ? "reading was" : "readings were",
			interval * 1e-9);
	else if (gap && loaded)
		findings_add(incident->findings, EVENT_GAP, incident->last_ns, sample->time.ns,
			incident->last_un, "no readings for %.2f s", interval * 1e-9);
	if (incident->late_count > 0)
		return;
	if (known)
		interval = smaller(interval, limit);
	else
		incident->interval_count++;
	incident->longest_ns = larger(interval, incident->longest_ns * (1 - policy->gap_forgotten));
}

/* What the cells' own counters found. */
static void watch_count(struct incident *incident, const struct sample *sample)
{
	double once_ns = incident->plan->policy.once_s * 1e9;
	if (sample->flags & SAMPLE_LOST) {
		if ((double)(sample->time.ns - incident->lost_ns) > once_ns)
			findings_add(incident->findings, EVENT_LOST, sample->time.ns,
				sample->time.ns, sample->load_un,
				"by the cell's own count, readings before this one are missing");
		incident->lost_ns = sample->time.ns;
	}
	if (sample->flags & SAMPLE_REPEATED) {
		if ((double)(sample->time.ns - incident->repeated_ns) > once_ns)
			findings_add(incident->findings, EVENT_REPEATED, sample->time.ns,
				sample->time.ns, sample->load_un,
				"by the cell's own count, a reading came twice: one of them "
				"counts");
		incident->repeated_ns = sample->time.ns;
	}
}

void incident_reading(struct incident *incident, const struct sample *sample, bool loaded)
{
	watch_range(incident, sample);
	if (loaded)
		watch_count(incident, sample);
	if (sample->flags & SAMPLE_LATE) {
		incident->late_count++;
		return;
	}
	if (incident->any)
		watch_gap(incident, sample, loaded);
	incident->late_count = 0;
	incident->any = true;
	incident->last_ns = sample->time.ns;
	incident->last_un = sample->load_un;
}

static void begin_rise(struct incident *incident, struct slope_point now)
{
	incident->top_un = now.load_un;
	incident->top_ns = incident->near_ns = now.time_ns;
	incident->low_un = now.load_un;
}

static void report_fall(struct incident *incident, int64_t now_ns)
{
	const struct policy *policy = &incident->plan->policy;
	double lost = (double)(incident->top_un - incident->low_un) / (double)incident->top_un;
	double began_s = (double)(incident->top_ns - incident->near_ns) * 1e-9;
	bool sudden = policy->drop_fraction > policy->drop_per_s * began_s;
	findings_add(incident->findings, sudden ? EVENT_DROP : EVENT_LET_OFF, incident->near_ns,
		now_ns, incident->top_un, "the load %s by %.1f kN (%.1f %%) and rose again",
		sudden ? "fell" : "was taken back",
		(double)(incident->top_un - incident->low_un) * 1e-9, 100 * lost);
	if (sudden && incident->top_un > incident->passed_un)
		incident->passed_un = incident->top_un;
}

/* While falling, top_ns becomes the time at which the fall passed drop_fraction. */
static void watch_fall(struct incident *incident, struct slope_point now, double swing_n)
{
	const struct policy *policy = &incident->plan->policy;
	if (now.load_un >= incident->top_un) {
		begin_rise(incident, now);
		return;
	}
	if (incident->top_un <= 0)
		return;
	double least = larger(policy->drop_fraction * (double)incident->top_un,
		policy->drop_swings * swing_n * 1e6);
	if ((double)(incident->top_un - now.load_un) <= policy->fall_begun * least)
		incident->near_ns = now.time_ns;
	bool was_down = (double)(incident->top_un - incident->low_un) >= least;
	if (now.load_un < incident->low_un)
		incident->low_un = now.load_un;
	double lost = (double)(incident->top_un - incident->low_un);
	if (lost < least)
		return;
	if (!was_down)
		incident->top_ns = now.time_ns;
	double risen = (double)(now.load_un - incident->low_un);
	if (risen < larger(policy->fall_recovered * lost,
			    larger(least / 2, policy->drop_swings * swing_n * 1e6)))
		return;
	if ((double)incident->low_un >= policy->trough_fraction * (double)incident->top_un)
		report_fall(incident, now.time_ns);
	incident->fresh_ns = now.time_ns;
	begin_rise(incident, now);
}

static void watch_recovery(struct incident *incident, struct slope_point now)
{
	if (incident->passed_un == 0 || now.load_un <= incident->passed_un)
		return;
	findings_add(incident->findings, EVENT_RECOVERY, now.time_ns, now.time_ns, now.load_un,
		"the load has passed its old maximum of %.1f kN",
		(double)incident->passed_un * 1e-9);
	incident->passed_un = 0;
}

static void watch_stand(
	struct incident *incident, struct slope_point now, const struct incident_rates *rates)
{
	const struct policy *policy = &incident->plan->policy;
	double most = rates->live + policy->sigmas * rates->live_error;
	bool still = most < policy->stall_fraction * rates->own &&
		     (double)(now.time_ns - incident->fresh_ns) > policy->live_s * 1e9;
	if (!incident->standing && !still)
		return;
	bool at_top = (double)(incident->top_un - now.load_un) <
		      policy->drop_fraction * (double)incident->top_un;
	if (!incident->standing && still && at_top) {
		incident->standing = true;
		incident->stand_since_ns = now.time_ns - (int64_t)(policy->live_s * 1e9);
		incident->stand_un = now.load_un;
	}
	if (!incident->standing)
		return;
	if (!at_top) { /* it ended in a fall: the specimen, or a valve opened */
		incident->standing = false;
		return;
	}
	double slack_un = policy->stall_fraction * rates->own * policy->stall_s * 1e6;
	if ((double)(now.load_un - incident->stand_un) <= slack_un)
		incident->stand_last_ns = now.time_ns;
	if (rates->live < policy->stall_over * rates->own)
		return;
	incident->standing = false;
	findings_add(incident->findings, EVENT_STALL, incident->stand_since_ns,
		incident->stand_last_ns, incident->stand_un, "the load stood still for %.1f s",
		(double)(incident->stand_last_ns - incident->stand_since_ns) * 1e-9);
}

static void watch_step(struct incident *incident, const struct track *track, struct slope_point now,
	const struct incident_rates *rates)
{
	const struct policy *policy = &incident->plan->policy;
	int64_t limit_ns = (int64_t)(policy->shock_s * 1e9);
	size_t newest = track->count - 1;
	while (incident->step_from + 1 < newest &&
		now.time_ns - track->points[incident->step_from + 1].time_ns >= limit_ns)
		incident->step_from++;
	struct slope_point from = track->points[incident->step_from];
	double lasted_s = (double)(now.time_ns - from.time_ns) * 1e-9;
	double rise_n = (double)(now.load_un - from.load_un) * 1e-6;
	double beyond_n = rise_n - larger(rates->own, incident->ramp_before) * lasted_s;
	double least = larger(policy->shock_fraction * (double)incident->top_un * 1e-6,
		policy->shock_ratio * incident->usual_step_n);
	least = larger(least, policy->spike_steps * rates->step);
	double interval_s = (double)(now.time_ns - track->points[newest - 1].time_ns) * 1e-9;
	bool known = incident->step_learnt_s >= policy->shock_learn_s;
	double learnt_n = known ? smaller(fabs(beyond_n), least) : fabs(beyond_n);
	incident->step_learnt_s =
		smaller(incident->step_learnt_s + interval_s, policy->shock_learn_s);
	incident->usual_step_n +=
		(learnt_n - incident->usual_step_n) * interval_s / incident->step_learnt_s;
	if (!known || beyond_n < least ||
		(double)(now.time_ns - incident->shock_ns) < policy->once_s * 1e9)
		return;
	incident->shock_ns = incident->fresh_ns = now.time_ns;
	findings_add(incident->findings, EVENT_SHOCK, from.time_ns, now.time_ns, from.load_un,
		"the load jumped by %.1f kN within %.2f s", rise_n * 1e-3, lasted_s);
}

void incident_feed(struct incident *incident, const struct track *track,
	const struct incident_rates *rates, bool bearing)
{
	struct slope_point now = track->points[track->count - 1];
	if (bearing && rates->known) {
		watch_step(incident, track, now, rates);
		watch_recovery(incident, now);
		watch_fall(incident, now, rates->swing);
		watch_stand(incident, now, rates);
	}
	incident->ramp_before = rates->known ? rates->live : 0;
}
