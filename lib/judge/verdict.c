/* SPDX-License-Identifier: MIT
 *
 * Span, windows, worst excursion, reason in words; see verdict.h for the rule.
 */
#include "judge/verdict.h"

#include "base/units.h"

#include <assert.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

struct span {
	size_t from, to; /* indices in the track */
	int64_t length_ns;
	int64_t window_ns;
	int64_t gap_from_ns, gap_ns; /* longest time without a sample */
};

/* One look at one window. Rates in the band's unit per second. */
struct look {
	double rate, error;
	double excess; /* beyond the nearer limit; negative inside the band */
	int64_t middle_ns;
	int64_t load_un;
};

struct scan {
	size_t count;
	double lowest, highest;
	struct look worst;     /* farthest beyond a limit, or nearest to one */
	bool left;             /* some look was outside by more than sigmas errors */
	struct look left_most; /* the one farthest outside in terms of its error */
	bool marginal;         /* some look was outside, but by less */
	int64_t outside_ns;
	/* while scanning */
	int64_t previous_ns;
	bool previous_outside;
	bool out_now;
	int64_t outside_at_ns; /* newest look that was outside */
	int64_t inside_at_ns;  /* and that was not */
	int64_t settle_ns;     /* half a judging window */
};

static void say(struct rate *rate, const char *format, ...) __attribute__((format(printf, 2, 3)));
static void say(struct rate *rate, const char *format, ...)
{
	size_t used = strlen(rate->reason);
	va_list arguments;
	va_start(arguments, format);
	vsnprintf(rate->reason + used, sizeof rate->reason - used, format, arguments);
	va_end(arguments);
}

/* From N/s to the band's unit per second. */
static double to_band_unit(const struct plan *plan, double rate_n_s)
{
	return rate_n_s / plan->area_m2 / plan->rate_unit_pa;
}

/* What rounds to nothing is written without a sign. */
static double shown(const struct plan *plan, double rate)
{
	bool nothing = fabs(rate) < 0.5 * pow(10, -rate_unit_places(plan->unit));
	return nothing && plan->policy.rules >= 4 ? 0 : rate;
}

static double seconds(const struct verdict_input *input, int64_t time_ns)
{
	return (double)(time_ns - track_time_ns(input->track, 0)) * 1e-9;
}

/* Longest time without a sample in the span; it may have begun just before, since the span begins
 * somewhere between two samples. */
static void find_gap(const struct track *track, struct span *span)
{
	span->gap_ns = 0;
	size_t first = span->from > 0 ? span->from : 1, count;
	int64_t last_ns = track_time_ns(track, first - 1);
	for (size_t i = first; i <= span->to; i += count) {
		const struct slope_point *points = track_stretch(track, i, span->to + 1, &count);
		for (size_t k = 0; k < count; last_ns = points[k++].time_ns) {
			if (points[k].time_ns - last_ns <= span->gap_ns)
				continue;
			span->gap_ns = points[k].time_ns - last_ns;
			span->gap_from_ns = last_ns;
		}
	}
}

static bool find_span(const struct verdict_input *input, enum basis basis, struct span *span)
{
	const struct plan *plan = input->plan;
	const struct track *track = input->track;
	double base = basis == BASIS_ANTICIPATED ? (double)plan->anticipated_load_un
						 : (double)input->maximum_un;
	span->from = track_reach(track, 0, (int64_t)ceil(plan->span_from * base));
	span->to = track_reach(track, 0, (int64_t)ceil(plan->span_to * (double)input->maximum_un));
	if (span->to > input->maximum_at || span->from >= span->to)
		return false;
	span->length_ns = track_time_ns(track, span->to) - track_time_ns(track, span->from);
	double share = plan->policy.window_share * (double)span->length_ns;
	span->window_ns = plan->window_ns < (int64_t)share ? plan->window_ns : (int64_t)share;
	find_gap(track, span);
	return span->window_ns > 0;
}

/* The noise is measured a little beyond the span, so that its ends are known too. */
static void measure_noise(const struct verdict_input *input, const struct span *span)
{
	int64_t noise_margin_ns = (int64_t)(input->plan->policy.noise_margin_s * 1e9);
	const struct track *track = input->track;
	size_t from = span->from, to = span->to;
	int64_t from_ns = track_time_ns(track, from), to_ns = track_time_ns(track, to);
	while (from > 0 && from_ns - track_time_ns(track, from - 1) < noise_margin_ns)
		from--;
	while (to < input->maximum_at && track_time_ns(track, to + 1) - to_ns < noise_margin_ns)
		to++;
	noise_measure(input->noise, track, from, to, &input->plan->policy);
}

/* Part of the window from start to end that falls into the span's longest gap. */
static double missing_part(const struct span *span, int64_t start_ns, int64_t end_ns)
{
	int64_t from = span->gap_from_ns > start_ns ? span->gap_from_ns : start_ns;
	int64_t to = span->gap_from_ns + span->gap_ns;
	to = to < end_ns ? to : end_ns;
	return to > from ? (double)(to - from) / (double)(end_ns - start_ns) : 0;
}

static bool take_look(const struct verdict_input *input, const struct span *span,
	const struct window *window, struct look *look)
{
	const struct plan *plan = input->plan;
	struct slope_fit fit;
	if (window_reach(window) < plan->policy.window_full ||
		(double)window->slope.count < plan->policy.window_samples ||
		!slope_fit(&window->slope, &fit))
		return false;
	int64_t start_ns = track_time_ns(input->track, window->first);
	int64_t end_ns = track_time_ns(input->track, window->next - 1);
	double spread = fit.time_spread_s * fit.time_spread_s / (double)window->slope.count;
	double even_s = (double)(end_ns - start_ns) * 1e-9;
	if (spread < plan->policy.window_spread * even_s * even_s / 12)
		return false;
	look->rate = to_band_unit(plan, fit.rate_n_s);
	double missing = missing_part(span, start_ns, end_ns);
	look->error =
		to_band_unit(plan, noise_error(input->noise, &fit, start_ns, end_ns, missing));
	look->excess = fmax(look->rate - plan->band_high, plan->band_low - look->rate);
	look->middle_ns = slope_middle_ns(&window->slope);
	look->load_un = (int64_t)(slope_middle_n(&window->slope) * 1e6);
	return true;
}

static void report_crossing(struct scan *scan, const struct verdict_input *input,
	const struct look *look, struct findings *crossings)
{
	const struct plan *plan = input->plan;
	bool out = look->excess > plan->policy.sigmas * look->error;
	*(look->excess > 0 ? &scan->outside_at_ns : &scan->inside_at_ns) = look->middle_ns;
	/* back for good: half a window without a look outside, so that hunting at a limit is one
	 * departure and not many */
	bool in = look->middle_ns - scan->outside_at_ns >= scan->settle_ns;
	if (!(scan->out_now ? in : out))
		return;
	scan->out_now = !scan->out_now;
	if (crossings == NULL)
		return;
	findings_add(crossings, scan->out_now ? EVENT_BAND_LEFT : EVENT_BAND_REGAINED,
		look->middle_ns, look->middle_ns, look->load_un, "stress rate %.*f %s, %s",
		rate_unit_places(plan->unit), shown(plan, look->rate), rate_unit_text(plan->unit),
		!scan->out_now                 ? "back in the band"
		: look->rate > plan->band_high ? "above the band"
					       : "below the band");
}

static void note_look(struct scan *scan, const struct verdict_input *input, const struct look *look,
	struct findings *crossings)
{
	double sigmas = input->plan->policy.sigmas;
	bool outside = look->excess > 0;
	if (scan->count == 0 || look->excess > scan->worst.excess)
		scan->worst = *look;
	scan->lowest = scan->count == 0 ? look->rate : fmin(scan->lowest, look->rate);
	scan->highest = scan->count == 0 ? look->rate : fmax(scan->highest, look->rate);
	if (outside && look->excess > sigmas * look->error) {
		double beyond = look->excess - sigmas * look->error;
		if (!scan->left || beyond > scan->left_most.excess - sigmas * scan->left_most.error)
			scan->left_most = *look;
		scan->left = true;
	} else if (outside) {
		scan->marginal = true;
	}
	report_crossing(scan, input, look, crossings);
	if (outside && scan->previous_outside)
		scan->outside_ns += look->middle_ns - scan->previous_ns;
	scan->previous_ns = look->middle_ns;
	scan->previous_outside = outside;
	scan->count++;
}

/* The first sample of [begin, end) that is not before the time; end if there is none. */
static size_t find_time(const struct track *track, size_t begin, size_t end, int64_t time_ns)
{
	size_t count;
	for (size_t i = begin; i < end; i += count) {
		const struct slope_point *points = track_stretch(track, i, end, &count);
		for (size_t k = 0; k < count; k++) {
			if (points[k].time_ns >= time_ns)
				return i + k;
		}
	}
	return end;
}

static void scan_span(const struct verdict_input *input, const struct span *span, struct scan *scan,
	struct findings *crossings)
{
	const struct track *track = input->track;
	struct window window;
	window_init(&window, span->window_ns, span->from);
	int64_t start_ns = track_time_ns(track, span->from);
	int64_t end_ns = track_time_ns(track, span->to);
	int64_t step_ns = (int64_t)((double)span->window_ns / input->plan->policy.window_looks);
	int64_t next_ns = start_ns + span->window_ns;
	*scan = (struct scan){.previous_ns = start_ns,
		.inside_at_ns = INT64_MIN,
		.settle_ns = span->window_ns / 2};
	while (window.next <= span->to) {
		size_t due = find_time(track, window.next, span->to, next_ns);
		window_advance(&window, track, due + 1);
		struct look look;
		if (!take_look(input, span, &window, &look))
			continue;
		next_ns = track_time_ns(track, due) + step_ns;
		if (scan->count == 0) /* the first window speaks for the span's beginning too */
			scan->previous_outside = look.excess > 0;
		note_look(scan, input, &look, crossings);
	}
	if (scan->previous_outside)
		scan->outside_ns += end_ns - scan->previous_ns;
}

/* A stand-still or a fall inside the span; NULL if there is none. */
static const struct event *find_stop(const struct verdict_input *input, const struct span *span)
{
	int64_t from_ns = track_time_ns(input->track, span->from);
	int64_t to_ns = track_time_ns(input->track, span->to);
	for (size_t i = 0; i < input->findings->count; i++) {
		const struct event *event = &input->findings->events[i];
		bool stop = event->kind == EVENT_STALL || event->kind == EVENT_DROP ||
			    event->kind == EVENT_LET_OFF;
		if (stop && input->findings->until_ns[i] > from_ns && event->time.ns < to_ns)
			return event;
	}
	return NULL;
}

/* The load took its last tenth much more slowly than the span: the specimen was yielding. */
static bool was_yielding(const struct verdict_input *input, const struct span *span)
{
	struct slope_point to = track_at(input->track, span->to);
	struct slope_point from = track_at(input->track, span->from);
	struct slope_point top = track_at(input->track, input->maximum_at);
	double ramp = (double)(to.load_un - from.load_un) / (double)span->length_ns;
	double last = (double)(top.load_un - to.load_un) / ramp;
	return (double)(top.time_ns - to.time_ns) > input->plan->policy.yielding_slower * last;
}

static bool has_event(const struct verdict_input *input, enum event_kind kind)
{
	for (size_t i = 0; i < input->findings->count; i++) {
		if (input->findings->events[i].kind == kind)
			return true;
	}
	return false;
}

/* A gap begins at the largest reading: the load may have been larger, the span another one. */
static bool maximum_lost(const struct verdict_input *input)
{
	int64_t top_ns = track_time_ns(input->track, input->maximum_at);
	for (size_t i = 0; i < input->findings->count; i++) {
		const struct event *event = &input->findings->events[i];
		if (event->kind == EVENT_GAP && event->time.ns == top_ns)
			return true;
		if (event->kind == EVENT_STUCK && event->time.ns >= top_ns &&
			input->plan->policy.rules >= 4)
			return true;
	}
	return false;
}

/* The rate was not in the band any more from this look to the span's end. */
static bool was_late(const struct verdict_input *input, const struct span *span,
	const struct scan *scan, const struct look *look)
{
	int64_t to_ns = track_time_ns(input->track, span->to);
	return look->middle_ns + span->window_ns > to_ns ||
	       (input->plan->policy.rules >= 4 && scan->inside_at_ns < look->middle_ns);
}

static void say_excursion(const struct verdict_input *input, const struct span *span,
	const struct scan *scan, const struct look *look, struct rate *rate)
{
	const struct plan *plan = input->plan;
	bool high = look->rate > plan->band_high;
	double limit = high ? plan->band_high : plan->band_low;
	int places = rate_unit_places(plan->unit);
	bool clear = look->excess > plan->policy.sigmas * look->error;
	/* an uncertainty that rounds to nothing is not nothing */
	double least = pow(10, -places);
	bool tiny = plan->policy.rules >= 2 && look->error < least / 2;
	say(rate, "%.*f %s at %.1f s, %s %.*f by %s twice its uncertainty of %s%.*f", places,
		shown(plan, look->rate), rate_unit_text(plan->unit),
		seconds(input, look->middle_ns), high ? "above" : "below",
		rate_unit_limit_places(plan->unit), limit, clear ? "more than" : "less than",
		tiny ? "less than " : "", places, tiny ? least : look->error);
	if (!high && was_late(input, span, scan, look) && was_yielding(input, span))
		say(rate,
			"; the specimen was yielding: the rate fell by itself towards the maximum");
}

/* What makes the maximum itself doubtful, and with it the span. */
static bool say_doubt(const struct verdict_input *input, struct rate *rate)
{
	if (has_event(input, EVENT_OVER_RANGE))
		say(rate, "the load went beyond the capacity: the maximum is not known");
	else if (maximum_lost(input))
		say(rate,
			"readings are missing just after the largest one: the maximum may be lost");
	else
		return false;
	return true;
}

static void decide(const struct verdict_input *input, const struct span *span,
	const struct scan *scan, struct rate *rate)
{
	const struct plan *plan = input->plan;
	const struct event *stop = find_stop(input, span);
	int places = rate_unit_places(plan->unit),
	    limit_places = rate_unit_limit_places(plan->unit);
	rate->verdict = VERDICT_UNDETERMINED;
	if (scan->left) {
		rate->verdict = VERDICT_OUT_OF_BAND;
		say_excursion(input, span, scan, &scan->left_most, rate);
	} else if (stop != NULL) {
		rate->verdict = VERDICT_OUT_OF_BAND;
		say(rate, "at %.1f s %s", seconds(input, stop->time.ns), stop->text);
	} else if (span->gap_ns > span->window_ns) {
		say(rate,
			"no readings for %.2f s from %.1f s, longer than the judging window of "
			"%.2f s",
			(double)span->gap_ns * 1e-9, seconds(input, span->gap_from_ns),
			(double)span->window_ns * 1e-9);
	} else if (say_doubt(input, rate)) {
		return;
	} else if (scan->count == 0) {
		say(rate, "too few readings: %zu in the judged span of %.1f s",
			span->to - span->from + 1, (double)span->length_ns * 1e-9);
	} else if (scan->marginal) {
		say_excursion(input, span, scan, &scan->worst, rate);
	} else if (input->end == END_INTERRUPTED) {
		say(rate, "the readings stopped while the load was on: the rest of the loading is "
			  "not "
			  "known");
	} else {
		rate->verdict = VERDICT_IN_BAND;
		say(rate, "%.*f to %.*f %s throughout, within %.*f to %.*f", places,
			shown(plan, scan->lowest), places, shown(plan, scan->highest),
			rate_unit_text(plan->unit), limit_places, plan->band_low, limit_places,
			plan->band_high);
	}
}

static void fill_numbers(const struct verdict_input *input, const struct span *span,
	const struct scan *scan, struct rate *rate)
{
	const struct plan *plan = input->plan;
	struct slope_point from = track_at(input->track, span->from);
	struct slope_point to = track_at(input->track, span->to);
	double gained_pa = (double)(to.load_un - from.load_un) * 1e-6 / plan->area_m2;
	rate->from.ns = from.time_ns;
	rate->to.ns = to.time_ns;
	rate->mean_pa_s = gained_pa / ((double)span->length_ns * 1e-9);
	rate->window_ns = span->window_ns;
	if (scan->count == 0)
		return;
	const struct look *worst = scan->left ? &scan->left_most : &scan->worst;
	rate->lowest_pa_s = scan->lowest * plan->rate_unit_pa;
	rate->highest_pa_s = scan->highest * plan->rate_unit_pa;
	rate->uncertainty_pa_s = worst->error * plan->rate_unit_pa;
	rate->outside_ns = scan->outside_ns;
	rate->worst.ns = worst->middle_ns;
}

/* The ends of the span are known to one sample each. */
static int64_t span_doubt_ns(const struct track *track, const struct span *span)
{
	int64_t doubt = 0;
	if (span->from > 0)
		doubt = track_time_ns(track, span->from) - track_time_ns(track, span->from - 1);
	return doubt + track_time_ns(track, span->to) - track_time_ns(track, span->to - 1);
}

/* The whole span is one window. */
static void fill_time(const struct verdict_input *input, const struct span *span, struct rate *rate)
{
	const struct plan *plan = input->plan;
	const struct scan scan = {.count = 0};
	fill_numbers(input, span, &scan, rate);
	double gained_pa = rate->mean_pa_s * ((double)span->length_ns * 1e-9);
	rate->window_ns = span->length_ns;
	rate->lowest_pa_s = rate->highest_pa_s = rate->mean_pa_s;
	rate->band_low_pa_s = gained_pa / plan->time_high_s;
	rate->band_high_pa_s = gained_pa / plan->time_low_s;
	rate->worst.ns = rate->from.ns + span->length_ns / 2;
}

/* A method that gives a time for the span in place of a band. Evenly: nothing more is said of it
 * than that the load must neither stand still nor fall. */
static void decide_time(const struct verdict_input *input, const struct span *span,
	enum basis basis, struct rate *rate)
{
	const struct plan *plan = input->plan;
	const struct event *stop = find_stop(input, span);
	double lasted_s = (double)span->length_ns * 1e-9;
	double doubt_s = (double)span_doubt_ns(input->track, span) * 1e-9;
	double excess_s = fmax(lasted_s - plan->time_high_s, plan->time_low_s - lasted_s);
	rate->verdict = VERDICT_UNDETERMINED;
	rate->uncertainty_pa_s = rate->mean_pa_s * doubt_s / lasted_s;
	if (excess_s > 0)
		rate->outside_ns = span->length_ns;
	if (stop != NULL && excess_s <= doubt_s) {
		rate->verdict = VERDICT_OUT_OF_BAND;
		say(rate, "at %.1f s %s", seconds(input, stop->time.ns), stop->text);
		return;
	}
	if (excess_s <= doubt_s && say_doubt(input, rate))
		return;
	if (input->end == END_INTERRUPTED) {
		say(rate, "the readings stopped while the load was on: the rest of the loading is "
			  "not known");
		return;
	}
	if (excess_s > doubt_s)
		rate->verdict = VERDICT_OUT_OF_BAND;
	else if (excess_s <= 0)
		rate->verdict = VERDICT_IN_BAND;
	say(rate, "%.1f s from %.0f %% of the %s load to the maximum, %s %.0f to %.0f s", lasted_s,
		100 * plan->span_from, basis_text(basis), excess_s > 0 ? "not" : "within",
		plan->time_low_s, plan->time_high_s);
}

static void judge_band(const struct verdict_input *input, const struct span *span,
	struct rate *rate, struct findings *crossings)
{
	struct scan scan;
	measure_noise(input, span);
	scan_span(input, span, &scan, crossings);
	fill_numbers(input, span, &scan, rate);
	decide(input, span, &scan, rate);
}

void verdict_judge(const struct verdict_input *input, enum basis basis, struct rate *rate,
	struct findings *crossings)
{
	const struct plan *plan = input->plan;
	*rate = (struct rate){.verdict = VERDICT_NONE};
	/* the band is known before there is anything to judge by it */
	if (plan->policy.rules >= 2 || (input->end != END_NO_LOAD && plan->area_m2 > 0)) {
		rate->band_low_pa_s = plan->band_low * plan->rate_unit_pa;
		rate->band_high_pa_s = plan->band_high * plan->rate_unit_pa;
	}
	if (input->end == END_NO_LOAD) {
		say(rate, "no load was put on");
		return;
	}
	if (plan->area_m2 <= 0) {
		say(rate, "no specimen was seated: its area is not known");
		return;
	}
	rate->verdict = VERDICT_UNDETERMINED;
	struct span span = {0};
	if (!find_span(input, basis, &span)) {
		say(rate,
			"nothing to judge: %.0f %% of the %s load was not reached before %.0f %% "
			"of "
			"the maximum",
			100 * plan->span_from, basis_text(basis), 100 * plan->span_to);
		return;
	}
	if (input->end == END_INTERRUPTED && basis == BASIS_MAXIMUM) {
		say(rate, "the readings stopped while the load was on: the maximum is not known");
		return;
	}
	if (plan->time_high_s > 0) {
		fill_time(input, &span, rate);
		decide_time(input, &span, basis, rate);
	} else {
		judge_band(input, &span, rate, crossings);
	}
}
