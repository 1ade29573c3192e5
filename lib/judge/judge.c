/* SPDX-License-Identifier: MIT
 *
 * The judge: spike filter -> track and windows -> phase machine and incidents -> advice; and, when
 * asked, ending and verdict over the track. Each idea has its own file; this one only passes
 * samples along and keeps the order.
 */
#include "judge/judge.h"

#include "judge/advice.h"
#include "judge/ending.h"
#include "judge/findings.h"
#include "judge/incident.h"
#include "judge/noise.h"
#include "judge/phase.h"
#include "judge/spike.h"
#include "judge/stuck.h"
#include "judge/track.h"
#include "judge/verdict.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Rates, and what follows from them, are looked at no more often than this. */
static const int64_t tick_ns = 10 * CLOCKS_NS_PER_MS;
/* The run's own rate is forgotten with this time constant: longer than hunting, shorter than a
 * test. */
static const double own_rate_s = 8;
/* A window is full when it spans this share of its length (samples are discrete), and says
 * something of a rate from half of it on. */
static const double full_reach = 0.8, begun_reach = 0.5;
/* The load's swing about its ramp is averaged over this time, and one look may not exceed the swing
 * known by more than this factor: a bend in the ramp or a fall is no swing. */
static const double swing_s = 5, swing_factor = 2;
/* A later top is looked at for a fracture if it reached this part of the maximum. */
static const double later_top = 0.5;

/* Before and after the run the zero is the same within this part of itself. */
static const double zero_same = 0.07;
/* The zero is flat: it changes by no more than this share of the run's mean rate. */
static const double zero_flat = 0.08;

struct judge {
	struct plan plan;
	struct spike spike;
	struct stuck stuck;
	struct track track;
	struct window live_window;    /* what a person sees */
	struct window judging_window; /* W; begins afresh where the band begins */
	struct window band_window;    /* as the live one, but begins afresh where the band begins */
	struct machine machine;
	struct incident incident;
	struct adviser adviser;
	struct findings findings;
	struct incident_rates rates;
	struct advice_rates shown;
	int64_t last_ns;
	bool any;
	int64_t tick_at_ns; /* of the last look at the rates */
	struct noise noise; /* scratch of judge_finish */
	struct findings finished;
};

struct judge *judge_create(size_t track_max)
{
	assert(track_max >= 2);
	struct judge *judge = calloc(1, sizeof *judge);
	if (judge == NULL)
		return NULL;
	/* untouched pages cost nothing: a short run uses a short track */
	judge->track.points = malloc(track_max * sizeof judge->track.points[0]);
	judge->track.capacity = track_max;
	if (judge->track.points == NULL) {
		free(judge);
		return NULL;
	}
	return judge;
}

void judge_destroy(struct judge *judge)
{
	if (judge == NULL)
		return;
	free(judge->track.points);
	free(judge);
}

/* The band has begun: what was done before must not leak into rates that are warned of. */
static void restart_band(struct judge *judge)
{
	size_t first = judge->track.count;
	window_init(&judge->band_window, (int64_t)(judge->plan.policy.live_s * 1e9), first);
	window_init(&judge->judging_window, judge->plan.window_ns, first);
	judge->rates.own = 0;
	judge->shown.judging_full = false;
}

/* A step, a fall: the rates on its two sides are not one rate. What is known of the swing stays. */
static void restart_rates(struct judge *judge)
{
	window_init(&judge->live_window, (int64_t)(judge->plan.policy.live_s * 1e9),
		judge->track.count);
	judge->rates.known = false;
	judge->shown.known = false;
	restart_band(judge);
}

/* The press has touched the specimen. */
static void restart_windows(struct judge *judge)
{
	judge->rates = (struct incident_rates){0};
	judge->shown = (struct advice_rates){0};
	restart_rates(judge);
}

void judge_start(struct judge *judge, const struct plan *plan)
{
	judge->plan = *plan;
	judge->track.count = 0;
	judge->any = false;
	judge->tick_at_ns = INT64_MIN / 2;
	findings_clear(&judge->findings);
	spike_init(&judge->spike, &judge->plan.policy);
	stuck_init(&judge->stuck);
	phase_init(&judge->machine, &judge->plan, &judge->findings);
	incident_init(&judge->incident, &judge->plan, &judge->findings);
	advice_init(&judge->adviser, &judge->plan);
	restart_windows(judge);
}

static double band_unit(const struct judge *judge, double rate_n_s)
{
	return judge->plan.area_m2 > 0 ? rate_n_s / judge->plan.area_m2 / judge->plan.rate_unit_pa
				       : 0;
}

static double follow(double value, double target, double time_s, double constant_s)
{
	return value + (target - value) * time_s / (constant_s + time_s);
}

/* Most that a sine of this residual does to the slope of a window: 6 A / (pi f W^2), the slowest
 * hunting being the worst; in N/s. */
static double swing_rate(double residual_n, double window_s)
{
	const double slowest_hz = 0.5, pi = 3.14159265358979323846;
	return 6 * 1.4142135623730951 * residual_n / (pi * slowest_hz * window_s * window_s);
}

/* The run's own rate and swing, from its windows. */
static void learn_rates(struct judge *judge, const struct slope_fit *live,
	const struct slope_fit *band, const struct slope_fit *judging, double tick_s)
{
	struct incident_rates *rates = &judge->rates;
	rates->live = live->rate_n_s;
	rates->live_error = live->error_n_s;
	rates->step = (double)judge->spike.step_un * 1e-6;
	if (judging->rate_n_s > rates->own)
		rates->own = judging->rate_n_s;
	else
		rates->own = follow(rates->own, judging->rate_n_s, tick_s, own_rate_s);
	if (judge->machine.phase == PHASE_SEATING) /* a bend in the ramp is no swing */
		return;
	double swing = band->residual_n;
	if (rates->swing > 0)
		swing = follow(
			rates->swing, fmin(swing, swing_factor * rates->swing), tick_s, swing_s);
	rates->swing = swing;
}

/* Looks at the windows: running rate, the run's own rate, advice. */
static void tick(struct judge *judge, int64_t now_ns)
{
	double tick_s = fmin((double)(now_ns - judge->tick_at_ns) * 1e-9, own_rate_s);
	judge->tick_at_ns = now_ns;
	const struct track *track = &judge->track;
	struct advice_rates *shown = &judge->shown;
	struct slope_fit live, judging, band;
	shown->known = window_reach(&judge->live_window, track) >= full_reach &&
		       slope_fit(&judge->live_window.slope, &live);
	bool begun = window_reach(&judge->band_window, track) >= begun_reach &&
		     slope_fit(&judge->band_window.slope, &band) &&
		     slope_fit(&judge->judging_window.slope, &judging);
	judge->rates.known = shown->known && begun;
	shown->within = begun;
	if (!shown->known)
		return;
	shown->live = band_unit(judge, live.rate_n_s);
	shown->live_error = band_unit(judge, live.error_n_s);
	shown->judging_full = begun && window_reach(&judge->judging_window, track) >= full_reach;
	if (begun) {
		learn_rates(judge, &live, &band, &judging, tick_s);
		double residual = fmax(band.residual_n, judge->rates.swing);
		double reach = fmin(1, window_reach(&judge->band_window, track));
		double short_s = judge->plan.policy.live_s * reach;
		double long_s = (double)judge->plan.window_ns * 1e-9;
		shown->live = band_unit(judge, band.rate_n_s);
		shown->live_error = band_unit(judge, band.error_n_s);
		shown->judging = band_unit(judge, judging.rate_n_s);
		shown->judging_error = band_unit(judge, judging.error_n_s);
		shown->swing = band_unit(judge, swing_rate(residual, short_s));
		shown->judging_swing = band_unit(judge, swing_rate(residual, long_s));
	}
	advice_learn(&judge->adviser, shown, now_ns, judge->machine.phase == PHASE_LATTER_HALF);
}

/* After samples were taken off the track. */
static void rebuild_windows(struct judge *judge)
{
	window_rebuild(&judge->live_window, &judge->track);
	window_rebuild(&judge->judging_window, &judge->track);
	window_rebuild(&judge->band_window, &judge->track);
}

/* Puts the next point on the track and into the windows. */
static void put(struct judge *judge, struct slope_point point)
{
	if (!track_add(&judge->track, point)) {
		window_advance(&judge->live_window, &judge->track);
		window_advance(&judge->judging_window, &judge->track);
		window_advance(&judge->band_window, &judge->track);
		return;
	}
	rebuild_windows(judge);
	incident_thinned(&judge->incident);
	stuck_thinned(&judge->stuck);
}

/* Takes stuck readings off the track again. */
static void unstick(struct judge *judge, struct slope_point now)
{
	const struct policy *policy = &judge->plan.policy;
	const struct incident_rates *rates = &judge->rates;
	int64_t since_ns = judge->stuck.since_ns, load_un = judge->stuck.load_un;
	double least = fmax(policy->stuck_steps * rates->step, policy->drop_swings * rates->swing);
	bool rising = rates->known && judge->machine.phase > PHASE_SEATING &&
		      judge->machine.phase < PHASE_DECLINING;
	size_t count = stuck_feed(&judge->stuck, policy, now, rising ? rates->own : 0, least);
	if (count == 0 || count >= judge->track.count)
		return;
	findings_add(&judge->findings, EVENT_STUCK, since_ns, now.time_ns, load_un,
		"the same reading for %.2f s while the load went on",
		(double)(now.time_ns - since_ns) * 1e-9);
	judge->track.count -= count;
	rebuild_windows(judge);
	incident_unstick(&judge->incident, &judge->track, now.time_ns);
}

static void take(struct judge *judge, const struct sample *sample)
{
	struct slope_point point = {sample->time.ns, sample->load_un};
	unstick(judge, point);
	put(judge, point);
	enum phase before = judge->machine.phase;
	bool loaded = phase_loaded(before);
	if (loaded && point.time_ns - judge->tick_at_ns >= tick_ns)
		tick(judge, point.time_ns);
	incident_feed(
		&judge->incident, &judge->track, &judge->rates, loaded && before != PHASE_SEATING);
	phase_feed(&judge->machine, point, &judge->rates);
	enum phase now = judge->machine.phase;
	if (phase_loaded(now) && !loaded)
		restart_windows(judge);
	else if (now == PHASE_LATTER_HALF &&
		 (before == PHASE_FIRST_HALF || before == PHASE_SEATING))
		restart_band(judge);
	if (loaded && !phase_loaded(now))
		incident_release(&judge->incident);
}

static void deny(struct judge *judge, const struct sample *sample)
{
	findings_add(&judge->findings, EVENT_SPIKE, sample->time.ns, sample->time.ns,
		sample->load_un, "a reading of %.1f kN, denied by its neighbours",
		(double)sample->load_un * 1e-9);
	findings_size(&judge->findings, sample->time.ns,
		llabs(sample->load_un - judge->spike.last.load_un));
}

bool judge_feed(struct judge *judge, const struct sample *sample)
{
	if (judge->machine.over || (judge->any && sample->time.ns <= judge->last_ns))
		return judge->machine.over;
	judge->any = true;
	judge->last_ns = sample->time.ns;
	incident_reading(&judge->incident, sample, phase_loaded(judge->machine.phase));
	struct spike_out out;
	spike_feed(&judge->spike, sample, &out);
	for (size_t i = 0; i < out.denied_count; i++)
		deny(judge, &out.denied[i]);
	for (size_t i = 0; i < out.count && !judge->machine.over; i++)
		take(judge, &out.passed[i]);
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
		.has_rate = judge->shown.known && plan->area_m2 > 0 &&
			    phase_loaded(judge->machine.phase),
		.rate_pa_s = judge->shown.live * plan->rate_unit_pa,
		.rate_uncertainty_pa_s = judge->shown.live_error * plan->rate_unit_pa,
		.band_begins_un = judge->machine.half_un,
	};
	advice_say(&judge->adviser, &judge->shown, judge->incident.standing, live);
}

size_t judge_events(const struct judge *judge, const struct event **events)
{
	*events = judge->findings.events;
	return judge->findings.count;
}

/* ---- after the run */

/* First index of the largest sample in [begin, count). */
static size_t largest(const struct track *track, size_t begin)
{
	size_t top = begin;
	for (size_t i = begin + 1; i < track->count; i++) {
		if (track->points[i].load_un > track->points[top].load_un)
			top = i;
	}
	return top;
}

/* How the load came down from its maximum, or from a later top nearly as high. */
static enum end find_end(const struct judge *judge, size_t top)
{
	const struct track *track = &judge->track;
	const struct policy *policy = &judge->plan.policy;
	double least = later_top * (double)track->points[top].load_un;
	enum end end = END_INTERRUPTED;
	while ((double)track->points[top].load_un >= least) {
		enum fall fall = ending_fall(track, top, policy, judge->rates.swing);
		if (fall == FALL_BROKEN)
			return END_BROKEN;
		if (fall == FALL_NONE)
			return end;
		end = END_UNLOADED;
		double limit = policy->decline_fraction * (double)track->points[top].load_un;
		size_t below = track_below(track, top, (int64_t)limit);
		size_t next = largest(track, below);
		if (next == below)
			break;
		top = next;
	}
	return end;
}

/* What happened while seating is no event of the loading, nor is a slow rise near the maximum a
 * stand-still: the specimen yields there. A reading that was doubted when the load was small, but
 * is nothing against the maximum, is no spike. */
static bool belongs(const struct judge *judge, size_t index)
{
	const struct event *event = &judge->findings.events[index];
	const struct machine *machine = &judge->machine;
	double load = (double)event->load_un, maximum = (double)machine->maximum_un;
	double floor = judge->plan.policy.event_floor * maximum;
	bool before = event->time.ns < machine->maximum_ns;
	switch (event->kind) {
	case EVENT_STALL:
		return load >= floor && load < judge->plan.span_to * maximum && before;
	case EVENT_SHOCK:
		return load >= floor && before;
	case EVENT_SPIKE:
		return (double)judge->findings.size_un[index] >
		       judge->plan.policy.spike_fraction * maximum;
	case EVENT_DROP:
	case EVENT_RECOVERY:
	case EVENT_LET_OFF:
		return load >= floor;
	default:
		return true;
	}
}

static void keep_findings(const struct judge *judge, struct findings *kept)
{
	findings_clear(kept);
	for (size_t i = 0; i < judge->findings.count; i++) {
		if (belongs(judge, i))
			findings_copy(kept, &judge->findings, i);
	}
	kept->total += judge->findings.total - judge->findings.count;
}

/* From this block of idle samples to the next the press stood still. */
static bool zero_is_flat(const struct judge *judge, size_t block)
{
	const struct machine *machine = &judge->machine;
	const int64_t *from_ns = machine->zero_from_ns;
	if (!machine->touched)
		return true;
	double pace = (double)machine->maximum_un / (double)(machine->maximum_ns - from_ns[block]);
	double most = zero_flat * pace * (double)(from_ns[block + 1] - from_ns[block]);
	most = fmax(most, (double)judge->spike.step_un / 4);
	return fabs(machine->zero_un[block + 1] - machine->zero_un[block]) <= most;
}

/* What the press read at the end of the record, once the load was off: mean of the last moments. */
static double rest_load(const struct judge *judge)
{
	const struct slope_point *points = judge->track.points;
	size_t last = judge->track.count - 1, first = last;
	int64_t since_ns = points[last].time_ns - (int64_t)(judge->plan.policy.release_s / 2 * 1e9);
	double sum = (double)points[last].load_un;
	while (first > 0 && points[first - 1].time_ns >= since_ns &&
		points[first - 1].time_ns >= judge->machine.off_since_ns)
		sum += (double)points[--first].load_un;
	return sum / (double)(last - first + 1);
}

/* The press's zero before contact: where it first stood still. A slow approach is no offset. */
static void check_zero(const struct judge *judge, struct findings *findings)
{
	const struct machine *machine = &judge->machine;
	size_t block = 0;
	while (block + 1 < machine->zero_count && !zero_is_flat(judge, block))
		block++;
	double limit = fmax(judge->plan.policy.zero_fraction * (double)machine->maximum_un,
		(double)judge->spike.step_un);
	if (block + 1 >= machine->zero_count || fabs(machine->zero_un[block]) <= limit)
		return;
	/* a press that reads something else afterwards had a load on before */
	double zero = machine->zero_un[block];
	double same = fmax(zero_same * fabs(zero), (double)judge->spike.step_un);
	if (machine->off && fabs(rest_load(judge) - zero) > same)
		return;
	int64_t from_ns = machine->zero_from_ns[block];
	findings_add(findings, EVENT_ZERO_OFFSET, from_ns, from_ns,
		(int64_t)machine->zero_un[block], "the unloaded press read %.2f kN before contact",
		machine->zero_un[block] * 1e-9);
}

static void judge_rates(struct judge *judge, struct judgement *judgement, size_t top)
{
	struct verdict_input input = {
		.plan = &judge->plan,
		.track = &judge->track,
		.findings = &judge->finished,
		.noise = &judge->noise,
		.maximum_un = judgement->maximum_un,
		.maximum_at = top,
		.end = judgement->end,
	};
	bool anticipated = judge->plan.anticipated_load_un > 0;
	judgement->basis =
		anticipated && judge->plan.basis_anticipated ? BASIS_ANTICIPATED : BASIS_MAXIMUM;
	struct findings crossings = {0};
	verdict_judge(&input, judgement->basis, &judgement->rate, &crossings);
	judgement->rate_other.verdict = VERDICT_NONE;
	if (anticipated)
		verdict_judge(&input,
			judgement->basis == BASIS_MAXIMUM ? BASIS_ANTICIPATED : BASIS_MAXIMUM,
			&judgement->rate_other, NULL);
	for (size_t i = 0; i < crossings.count; i++)
		findings_copy(&judge->finished, &crossings, i);
}

static void judge_track(struct judge *judge, struct judgement *judgement)
{
	memset(judgement, 0, sizeof *judgement);
	keep_findings(judge, &judge->finished);
	check_zero(judge, &judge->finished);
	judgement->end = END_NO_LOAD;
	size_t top = 0;
	if (judge->machine.touched && judge->track.count > 0) {
		judgement->maximum_un = judge->machine.maximum_un;
		judgement->maximum_at.ns = judge->machine.maximum_ns;
		top = largest(&judge->track, 0);
		judgement->end = find_end(judge, top);
	}
	judge_rates(judge, judgement, top);
	findings_sort(&judge->finished);
	judgement->event_count = judge->finished.count;
	judgement->event_total = judge->finished.total;
	for (size_t i = 0; i < judge->finished.count; i++)
		judgement->events[i] = judge->finished.events[i];
}

void judge_finish(struct judge *judge, struct judgement *judgement)
{
	/* The samples still held by the spike filter count as far as nothing denied them; they are
	 * put on the track for the judgement only, so that feeding may go on afterwards. */
	struct spike spike = judge->spike;
	size_t count = judge->track.count;
	size_t found = judge->findings.count, total = judge->findings.total;
	size_t faults = judge->findings.fault_count;
	struct spike_out out;
	spike_flush(&spike, &out);
	for (size_t i = 0; i < out.denied_count; i++)
		deny(judge, &out.denied[i]);
	for (size_t i = 0; i < out.count && judge->track.count < judge->track.capacity; i++)
		judge->track.points[judge->track.count++] =
			(struct slope_point){out.passed[i].time.ns, out.passed[i].load_un};
	judge_track(judge, judgement);
	judge->track.count = count;
	judge->findings.count = found;
	judge->findings.total = total;
	judge->findings.fault_count = faults;
}
