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
		.fresh_ns = INT64_MIN / 2,
		.lower_ns = INT64_MIN / 2};
}

void incident_thinned(struct incident *incident)
{
	incident->step_from = incident->step_from / 2;
}

void incident_unstick(struct incident *incident, const struct track *track, int64_t now_ns)
{
	incident->flat = incident->standing = false;
	incident->fresh_ns = now_ns;
	if (incident->plan->policy.rules >= 4) {
		incident->step_learnt_s = incident->step_before_s;
		incident->usual_step_n = incident->step_before_n;
	}
	if (incident->step_from >= track->count)
		incident->step_from = track->count - 1;
}

void incident_release(struct incident *incident)
{
	incident->top_un = 0;
	incident->low_un = 0;
	incident->passed_un = 0;
	incident->flat = incident->standing = false;
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
	if (sample->flags != 0) {
		watch_range(incident, sample);
		if (loaded)
			watch_count(incident, sample);
	}
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

static void begin_rise(struct incident *incident, struct slope_point now, double swing_n)
{
	incident->top_un = now.load_un;
	incident->top_ns = incident->near_ns = now.time_ns;
	incident->low_un = now.load_un;
	incident->top_swing = swing_n;
}

static void report_fall(struct incident *incident, int64_t now_ns)
{
	const struct policy *policy = &incident->plan->policy;
	double lost = (double)(incident->top_un - incident->low_un) / (double)incident->top_un;
	double began_s = (double)(incident->top_ns - incident->near_ns) * 1e-9;
	double down = policy->rules >= 4 ? incident->down_un / (double)incident->top_un
					 : policy->drop_fraction;
	bool sudden = down > policy->drop_per_s * began_s;
	findings_add(incident->findings, sudden ? EVENT_DROP : EVENT_LET_OFF, incident->near_ns,
		now_ns, incident->top_un, "the load %s by %.1f kN (%.1f %%) and rose again",
		sudden ? "fell" : "was taken back",
		(double)(incident->top_un - incident->low_un) * 1e-9, 100 * lost);
	if (sudden && incident->top_un > incident->passed_un)
		incident->passed_un = incident->top_un;
}

/* What the press's own swing can take off, in uN; known at the top, since a fall is no swing. */
static double swings_off(const struct incident *incident, double swing_n)
{
	const struct policy *policy = &incident->plan->policy;
	if (policy->rules >= 4 && incident->top_swing > 0)
		swing_n = smaller(swing_n, incident->top_swing);
	return policy->drop_swings * swing_n * 1e6;
}

/* What must be lost for a fall. */
static double least_fall(const struct incident *incident, const struct incident_rates *rates)
{
	const struct policy *policy = &incident->plan->policy;
	double steps = policy->rules >= 4 ? policy->spike_steps * rates->step * 1e6 : 0;
	double least = larger(policy->drop_fraction * (double)incident->top_un, steps);
	return larger(least, swings_off(incident, rates->swing));
}

/* The load has risen again by so much that it has gone on. */
static bool has_risen(
	const struct incident *incident, struct slope_point now, double least, double swing_n)
{
	const struct policy *policy = &incident->plan->policy;
	double lost = (double)(incident->top_un - incident->low_un);
	double begun = policy->rules >= 4 ? policy->fall_begun * least : least / 2;
	double risen =
		larger(policy->fall_recovered * lost, larger(begun, swings_off(incident, swing_n)));
	return (double)(now.load_un - incident->low_un) >= risen;
}

/* Near the top, and no fall by the least that there may be (see least_fall): nearly every load that
 * is not the highest. */
static bool stays_near(struct incident *incident, struct slope_point now)
{
	const struct policy *policy = &incident->plan->policy;
	int64_t low_un = now.load_un < incident->low_un ? now.load_un : incident->low_un;
	double least = policy->drop_fraction * (double)incident->top_un;
	if (incident->top_un <= 0 || (double)(incident->top_un - low_un) >= least ||
		(double)(incident->top_un - now.load_un) > policy->fall_begun * least)
		return false;
	incident->near_ns = now.time_ns;
	incident->low_un = low_un;
	return true;
}

/* While falling, top_ns becomes the time at which the fall passed drop_fraction. */
static void watch_fall(
	struct incident *incident, struct slope_point now, const struct incident_rates *rates)
{
	const struct policy *policy = &incident->plan->policy;
	bool higher = now.load_un >= incident->top_un;
	if (!higher && stays_near(incident, now))
		return;
	if (higher && (incident->low_un == incident->top_un || policy->rules < 4)) {
		begin_rise(incident, now, rates->swing);
		return;
	}
	double least = least_fall(incident, rates);
	bool down = (double)(incident->top_un - incident->low_un) >= least;
	/* A fall is no less one for being made good within two readings; but nothing else speaks
	 * for it then, and the least and the largest of many readings lie far apart. */
	bool kept = down && policy->rules >= 4 &&
		    (double)(incident->top_un - incident->low_un) >=
			    policy->made_good * swings_off(incident, rates->swing);
	if (higher && !kept) {
		begin_rise(incident, now, rates->swing);
		return;
	}
	if (incident->top_un <= 0)
		return;
	if ((double)(incident->top_un - now.load_un) <= policy->fall_begun * least && !kept)
		incident->near_ns = now.time_ns;
	bool lower = now.load_un < incident->low_un;
	if (lower)
		incident->low_un = now.load_un;
	double lost = (double)(incident->top_un - incident->low_un);
	if (lost < least)
		return;
	if (lower)
		incident->lower_ns = now.time_ns;
	if (!down) {
		incident->top_ns = now.time_ns;
		incident->down_un = lost;
	}
	if (!has_risen(incident, now, least, rates->swing))
		return;
	if ((double)incident->low_un >= policy->trough_fraction * (double)incident->top_un)
		report_fall(incident, now.time_ns);
	incident->fresh_ns = now.time_ns;
	begin_rise(incident, now, rates->swing);
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

/* The load hardly rises, in a window with no step and no fall in it: across one it is flat by
 * chance.
 */
static bool hardly_rises(
	const struct incident *incident, int64_t now_ns, const struct incident_rates *rates)
{
	const struct policy *policy = &incident->plan->policy;
	if (rates->live >= policy->stall_fraction * rates->own)
		return false;
	int64_t whole_ns = incident->fresh_ns;
	if (policy->rules >= 4 && incident->lower_ns > whole_ns)
		whole_ns = incident->lower_ns;
	double most = rates->live + policy->sigmas * rates->live_error;
	if (rates->own <= 0 && policy->rules >= 4)
		return false;
	return most < policy->stall_surely * rates->own &&
	       (double)(now_ns - whole_ns) > policy->live_s * 1e9;
}

/* Longer than a step of the indicator takes. */
static bool stands(const struct incident *incident, const struct incident_rates *rates)
{
	const struct policy *policy = &incident->plan->policy;
	double lasted_s = (double)(incident->stand_last_ns - incident->stand_since_ns) * 1e-9;
	if (policy->stall_steps <= 0)
		return true;
	return lasted_s * rates->own >=
	       policy->live_s * rates->own + policy->stall_steps * rates->step;
}

static void watch_stand(
	struct incident *incident, struct slope_point now, const struct incident_rates *rates)
{
	const struct policy *policy = &incident->plan->policy;
	bool still = hardly_rises(incident, now.time_ns, rates);
	if (!incident->flat && !still)
		return;
	double least = policy->rules >= 4 ? least_fall(incident, rates)
					  : policy->drop_fraction * (double)incident->top_un;
	bool at_top = (double)(incident->top_un - now.load_un) < least;
	if (!incident->flat && at_top && still) {
		incident->flat = true;
		incident->stand_since_ns = now.time_ns - (int64_t)(policy->live_s * 1e9);
		incident->stand_un = now.load_un;
	}
	if (!incident->flat)
		return;
	if (!at_top) { /* it ended in a fall: the specimen, or a valve opened */
		incident->flat = incident->standing = false;
		return;
	}
	double slack_un = policy->stall_fraction * rates->own * policy->stall_s * 1e6;
	if ((double)(now.load_un - incident->stand_un) <= slack_un)
		incident->stand_last_ns = now.time_ns;
	incident->standing = incident->standing || stands(incident, rates);
	if (rates->live < policy->stall_over * rates->own)
		return;
	incident->flat = false;
	if (!incident->standing)
		return;
	incident->standing = false;
	findings_add(incident->findings, EVENT_STALL, incident->stand_since_ns,
		incident->stand_last_ns, incident->stand_un, "the load stood still for %.1f s",
		(double)(incident->stand_last_ns - incident->stand_since_ns) * 1e-9);
}

/* Learns the usual change from one. */
static void learn_step(
	struct incident *incident, struct slope_point last, struct slope_point now, double change_n)
{
	const struct policy *policy = &incident->plan->policy;
	if (now.load_un != last.load_un) {
		incident->step_before_s = incident->step_learnt_s;
		incident->step_before_n = incident->usual_step_n;
	}
	double interval_s = (double)(now.time_ns - last.time_ns) * 1e-9;
	incident->step_learnt_s =
		smaller(incident->step_learnt_s + interval_s, policy->shock_learn_s);
	incident->usual_step_n +=
		(change_n - incident->usual_step_n) * interval_s / incident->step_learnt_s;
}

static void watch_step(struct incident *incident, const struct track *track, struct slope_point now,
	const struct incident_rates *rates)
{
	const struct policy *policy = &incident->plan->policy;
	int64_t limit_ns = (int64_t)(policy->shock_s * 1e9);
	size_t newest = track->count - 1;
	while (incident->step_from + 1 < newest &&
		now.time_ns - track_time_ns(track, incident->step_from + 1) >= limit_ns)
		incident->step_from++;
	struct slope_point from = track_at(track, incident->step_from);
	double lasted_s = (double)(now.time_ns - from.time_ns) * 1e-9;
	double rise_n = (double)(now.load_un - from.load_un) * 1e-6;
	double beyond_n = rise_n - larger(rates->own, incident->ramp_before) * lasted_s;
	double least = larger(policy->shock_fraction * (double)incident->top_un * 1e-6,
		policy->shock_ratio * incident->usual_step_n);
	least = larger(least, policy->spike_steps * rates->step);
	bool known = incident->step_learnt_s >= policy->shock_learn_s;
	/* how fast the load went over a gap or stuck readings, nobody knows */
	if (policy->rules >= 4 && from.time_ns < incident->fresh_ns)
		return;
	learn_step(incident, track_at(track, newest - 1), now,
		known ? smaller(fabs(beyond_n), least) : fabs(beyond_n));
	if (!known || beyond_n < least ||
		(double)(now.time_ns - incident->shock_ns) < policy->once_s * 1e9)
		return;
	incident->shock_ns = incident->fresh_ns = now.time_ns;
	findings_add(incident->findings, EVENT_SHOCK, from.time_ns, now.time_ns, from.load_un,
		"the load jumped by %.1f kN within %.2f s", rise_n * 1e-3, lasted_s);
}

void incident_feed(struct incident *incident, const struct track *track, struct slope_point now,
	const struct incident_rates *rates, bool bearing)
{
	bool known = bearing && rates->known;
	/* after a fall the rates are not known for a while, the swing is */
	bool swing = known || (bearing && rates->swing > 0 && incident->plan->policy.rules >= 4);
	if (known)
		watch_step(incident, track, now, rates);
	if (swing) {
		watch_recovery(incident, now);
		watch_fall(incident, now, rates);
	}
	if (known)
		watch_stand(incident, now, rates);
	incident->ramp_before = rates->known ? rates->live : 0;
}
