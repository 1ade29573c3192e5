/* SPDX-License-Identifier: MIT
 *
 * The judge: spike filter -> brink -> track and running rate -> incidents and phase machine ->
 * advice. Each idea has its own file; this one only passes samples along and keeps the order. What
 * happens after the run stands in finish.c.
 */
#include "judge/judge.h"

#include "judge/judge_state.h"

#include "base/larger.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

struct judge *judge_create(size_t track_max)
{
	assert(track_max >= 2);
	struct judge *judge = calloc(1, sizeof *judge);
	if (judge == NULL)
		return NULL;
	if (!track_init(&judge->track, track_max)) {
		free(judge);
		return NULL;
	}
	return judge;
}

void judge_destroy(struct judge *judge)
{
	if (judge == NULL)
		return;
	track_finish(&judge->track);
	free(judge);
}

void judge_start(struct judge *judge, const struct plan *plan)
{
	judge->plan = *plan;
	track_cut(&judge->track, 0);
	judge->any = false;
	judge->sample_count = 0;
	findings_clear(&judge->findings);
	judge->findings.late_max = judge->plan.policy.rules >= 4 ? JUDGE_EVENTS_MAX / 4 : 0;
	spike_init(&judge->spike, &judge->plan.policy);
	brink_init(&judge->brink, &judge->plan.policy);
	stuck_init(&judge->stuck);
	phase_init(&judge->machine, &judge->plan, &judge->findings);
	incident_init(&judge->incident, &judge->plan, &judge->findings);
	advice_init(&judge->adviser, &judge->plan);
	running_init(&judge->running, &judge->plan);
}

void judge_give_back(struct judge *judge)
{
	track_cut(&judge->track, 0);
	track_give_back(&judge->track);
}

static void put(struct judge *judge, struct slope_point point)
{
	if (judge->track.count < judge->track.capacity) {
		track_add(&judge->track, point);
		return;
	}
	running_advance(&judge->running, &judge->track);
	track_add(&judge->track, point);
	running_rebuild(&judge->running, &judge->track);
	incident_thinned(&judge->incident);
	stuck_thinned(&judge->stuck);
}

/* The load is no further below its maximum than the press's swing takes it. */
static bool only_swings(const struct judge *judge)
{
	const struct policy *policy = &judge->plan.policy;
	double swing_un = policy->drop_swings * judge->running.rates.swing * 1e6;
	return policy->rules >= 4 && judge->machine.phase == PHASE_DECLINING &&
	       (double)(judge->machine.maximum_un - judge->stuck.load_un) < swing_un;
}

/* Takes stuck readings off the track again. */
static void unstick(struct judge *judge, struct slope_point now)
{
	if (stuck_pass(&judge->stuck, now))
		return;
	const struct policy *policy = &judge->plan.policy;
	const struct incident_rates *rates = &judge->running.rates;
	int64_t since_ns = judge->stuck.since_ns, load_un = judge->stuck.load_un;
	double least =
		larger(policy->stuck_steps * rates->step, policy->drop_swings * rates->swing);
	/* what was known before the band began holds at its beginning too */
	bool known = rates->known || policy->rules >= 4;
	bool rising = known && judge->machine.phase > PHASE_SEATING &&
		      (judge->machine.phase < PHASE_DECLINING || only_swings(judge));
	double own = rates->own;
	if (policy->rules >= 4 && rates->live > 0) /* the own rate begins afresh with the band */
		own = own > 0 ? smaller(own, rates->live) : rates->live;
	if (stuck_until_gone(&judge->stuck, policy, now))
		findings_add(&judge->findings, EVENT_STUCK, since_ns, now.time_ns, load_un,
			"the same reading for %.2f s until the load was gone",
			stuck_lasted_s(&judge->stuck));
	size_t count = stuck_feed(&judge->stuck, policy, now, rising ? own : 0, least);
	if (count == 0 || count >= judge->track.count)
		return;
	findings_add(&judge->findings, EVENT_STUCK, since_ns, now.time_ns, load_un,
		"the same reading for %.2f s while the load went on",
		(double)(now.time_ns - since_ns) * 1e-9);
	running_advance(&judge->running, &judge->track);
	track_cut(&judge->track, judge->track.count - count);
	running_rebuild(&judge->running, &judge->track);
	incident_unstick(&judge->incident, &judge->track, now.time_ns);
}

/* Looks at the running rate, if it is time to, and learns from it what to advise. */
static void look(struct judge *judge, int64_t now_ns)
{
	if (!running_due(&judge->running, now_ns))
		return;
	enum phase phase = judge->machine.phase;
	const struct policy *policy = &judge->plan.policy;
	/* a bend while seating is no swing, nor does a load swing at the cell's capacity */
	bool clipped = policy->rules >= 4 &&
		       (double)(now_ns - judge->incident.over_ns) < policy->live_s * 1e9;
	running_look(&judge->running, &judge->track, now_ns, judge->spike.step_un,
		phase == PHASE_SEATING || clipped, phase == PHASE_LATTER_HALF);
	advice_learn(&judge->adviser, &judge->running.shown, now_ns, phase == PHASE_LATTER_HALF);
}

/* The windows begin afresh: a step, a fall, a gap. How the press swung before a long gap says
 * nothing of how it swings at the load after it. */
static void begin_afresh(struct judge *judge)
{
	const struct track *track = &judge->track;
	const struct policy *policy = &judge->plan.policy;
	bool long_gap = track->count > 1 &&
			(double)(track_time_ns(track, track->count - 1) -
				 track_time_ns(track, track->count - 2)) > policy->live_s * 1e9;
	if (long_gap && policy->rules >= 4)
		running_touch(&judge->running, track->count);
	else
		running_break(&judge->running, track->count);
}

/* What the passage from one phase to the next begins or ends. */
static void change_phase(struct judge *judge, enum phase before, enum phase now)
{
	size_t first = judge->track.count;
	bool loaded = phase_loaded(now);
	if (loaded && !phase_loaded(before))
		running_touch(&judge->running, first);
	else if (now == PHASE_LATTER_HALF && before < PHASE_LATTER_HALF)
		running_band(&judge->running, first);
	if (phase_loaded(before) && !loaded)
		incident_release(&judge->incident);
}

static void take(struct judge *judge, const struct sample *sample)
{
	struct slope_point point = {sample->time.ns, sample->load_un};
	if (sample->flags & SAMPLE_LATE) {
		phase_late(&judge->machine, point);
		return;
	}
	unstick(judge, point);
	put(judge, point);
	enum phase before = judge->machine.phase;
	if (phase_loaded(before))
		look(judge, point.time_ns);
	incident_feed(&judge->incident, &judge->track, point, &judge->running.rates,
		phase_loaded(before) && before != PHASE_SEATING);
	phase_feed(&judge->machine, point, &judge->running.rates);
	if (judge->machine.phase != before)
		change_phase(judge, before, judge->machine.phase);
	bool afresh = judge->incident.fresh_ns == point.time_ns;
	if (afresh && (judge->machine.phase == before || judge->plan.policy.rules >= 4))
		begin_afresh(judge);
}

void judge_deny(struct judge *judge, const struct sample *sample)
{
	findings_add(&judge->findings, EVENT_SPIKE, sample->time.ns, sample->time.ns,
		sample->load_un, "a reading of %.1f kN, denied by its neighbours",
		(double)sample->load_un * 1e-9);
	findings_size(&judge->findings, sample->time.ns,
		llabs(sample->load_un - judge->spike.last.load_un));
}

/* What the load did just before is not known: the same reading came again and again. */
static bool stood_still(const struct judge *judge)
{
	return stuck_lasted_s(&judge->stuck) >= judge->plan.policy.stuck_s;
}

/* What the spike filter has passed. */
static void receive(struct judge *judge, const struct sample *sample)
{
	if (brink_pass(&judge->brink, judge->machine.maximum_un, sample)) {
		take(judge, sample);
		return;
	}
	struct spike_out out;
	bool known = judge->machine.phase > PHASE_SEATING && !stood_still(judge);
	int64_t since_ns = known ? judge->incident.fresh_ns : INT64_MAX;
	brink_feed(&judge->brink, &judge->track, since_ns, sample, &out);
	for (size_t i = 0; i < out.denied_count; i++)
		judge_deny(judge, &out.denied[i]);
	for (size_t i = 0; i < out.count && !judge->machine.over; i++)
		take(judge, &out.passed[i]);
}

bool judge_feed(struct judge *judge, const struct sample *sample)
{
	if (judge->machine.over || (judge->any && sample->time.ns <= judge->last_ns))
		return judge->machine.over;
	judge->any = true;
	judge->sample_count++;
	judge->last_ns = sample->time.ns;
	incident_reading(&judge->incident, sample, phase_loaded(judge->machine.phase));
	if (spike_pass(&judge->spike, sample)) {
		receive(judge, sample);
		return judge->machine.over;
	}
	struct spike_out out;
	if (judge->incident.fresh_ns == sample->time.ns)
		spike_after_gap(&judge->spike);
	spike_feed(&judge->spike, sample, &out);
	struct slope_point point = {sample->time.ns, sample->load_un};
	if (judge->spike.held_count == 1 &&
		stuck_explains(&judge->stuck, &judge->plan.policy, point))
		judge->spike.explained = true;
	for (size_t i = 0; i < out.denied_count; i++)
		judge_deny(judge, &out.denied[i]);
	for (size_t i = 0; i < out.count && !judge->machine.over; i++)
		receive(judge, &out.passed[i]);
	return judge->machine.over;
}

enum phase judge_phase(const struct judge *judge)
{
	return judge->machine.phase;
}

void judge_live(const struct judge *judge, struct live *live)
{
	const struct plan *plan = &judge->plan;
	int64_t load_un = judge->spike.last.load_un;
	*live = (struct live){
		.phase = judge->machine.phase,
		.time = {judge->last_ns},
		.load_un = load_un,
		.maximum_un = judge->machine.maximum_un,
		.stress_pa = plan->area_m2 > 0 ? (double)load_un * 1e-6 / plan->area_m2 : 0,
		.has_rate = judge->running.shown.known && plan->area_m2 > 0 &&
			    phase_loaded(judge->machine.phase),
		.rate_pa_s = advice_unit(plan, judge->running.shown.live) * plan->rate_unit_pa,
		.rate_uncertainty_pa_s =
			advice_unit(plan, judge->running.shown.live_error) * plan->rate_unit_pa,
		.band_begins_un = judge->machine.half_un,
	};
	advice_say(&judge->adviser, &judge->running.shown, judge->incident.standing, live);
}

size_t judge_events(const struct judge *judge, const struct event **events)
{
	*events = judge->findings.events;
	return judge->findings.count;
}
