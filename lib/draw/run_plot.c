/* SPDX-License-Identifier: MIT */
#include "draw/run_plot.h"

#include "base/text.h"
#include "base/units.h"
#include "draw/shown.h"
#include "judge/slope.h"

#include <math.h>
#include <stdlib.h>

enum { X_TICKS = 9, LOAD_TICKS = 7, RATE_TICKS = 6 };

/* The rate's axis reaches this far above the band, so that the band fills its middle third, and at
 * most that far for a run that was much too fast. */
static const double rate_room = 1.5;
static const double rate_room_most = 4;

static double seconds_from(struct mono_time origin, int64_t time_ns)
{
	return (double)(time_ns - origin.ns) / (double)CLOCKS_NS_PER_S;
}

static bool begin_plot(struct run_plot *drawing, const struct run_curve *curve)
{
	const struct rate *rate = &curve->outcome->judgement.rate;
	*drawing = (struct run_plot){0};
	drawing->points = calloc(curve->count + 1, sizeof(*drawing->points));
	if (!drawing->points)
		return false;
	drawing->plot.points = drawing->points;
	drawing->plot.title = drawing->title;
	drawing->plot.unit_x = "s";
	drawing->plot.has_span = rate->to.ns > rate->from.ns;
	drawing->plot.span_from = seconds_from(curve->origin, rate->from.ns);
	drawing->plot.span_to = seconds_from(curve->origin, rate->to.ns);
	return true;
}

bool run_plot_load(struct run_plot *drawing, const struct run_curve *curve)
{
	bool inch_pound = curve->outcome->method->inch_pound;
	const struct shown_unit *unit = shown_unit(SHOWN_LOAD, inch_pound);
	struct text title;
	if (!begin_plot(drawing, curve))
		return false;
	for (size_t i = 0; i < curve->count; i++) {
		const struct sample *sample = &curve->samples[i];
		drawing->points[i].x = seconds_from(curve->origin, sample->time.ns);
		drawing->points[i].y = (double)sample->load_un / (double)UNITS_UN_PER_N / unit->si;
	}
	drawing->plot.count = curve->count;
	text_init(&title, drawing->title, sizeof(drawing->title));
	text_format(&title, "load, %s", unit->text);
	plot_fit(&drawing->plot, X_TICKS, LOAD_TICKS);
	return true;
}

static struct slope_point slope_point_of(const struct sample *sample)
{
	return (struct slope_point){.time_ns = sample->time.ns, .load_un = sample->load_un};
}

/* The window slides with its middle on each sample; before half a window and after the last half
 * before the end there is none. */
static void fill_rates(struct run_plot *drawing, const struct run_curve *curve, size_t count,
	int64_t window_ns, double newton_per_unit)
{
	struct slope slope;
	size_t from = 0, to = 0;
	slope_init(&slope);
	for (size_t i = 0; i < count; i++) {
		int64_t middle = curve->samples[i].time.ns;
		for (; to < count && curve->samples[to].time.ns <= middle + window_ns / 2; to++)
			slope_add(&slope, slope_point_of(&curve->samples[to]));
		for (; curve->samples[from].time.ns < middle - window_ns / 2; from++)
			slope_remove(&slope, slope_point_of(&curve->samples[from]));
		bool whole = middle - window_ns / 2 >= curve->samples[0].time.ns &&
			     middle + window_ns / 2 <= curve->samples[count - 1].time.ns;
		struct slope_fit fit;
		drawing->points[i].x = seconds_from(curve->origin, middle);
		drawing->points[i].y =
			whole && slope_fit(&slope, &fit) ? fit.rate_n_s / newton_per_unit : NAN;
	}
	drawing->plot.count = count;
}

/* Samples up to the maximum, no more than one window's sums can hold. */
static size_t count_rising(const struct run_curve *curve)
{
	int64_t end = curve->outcome->judgement.maximum_at.ns;
	size_t count = 0;
	while (count < curve->count && curve->samples[count].time.ns <= end)
		count++;
	return count < SLOPE_POINTS_MAX ? count : SLOPE_POINTS_MAX;
}

static double rate_high(const struct rate *rate)
{
	double most = fmin(rate->highest_pa_s, rate->band_high_pa_s * rate_room_most);
	return fmax(most, rate->band_high_pa_s * rate_room);
}

static void set_band(struct plot *plot, const struct rate *rate, const struct shown_unit *unit)
{
	double high = rate_high(rate) / unit->si;
	plot->has_band = true;
	plot->band_low = rate->band_low_pa_s / unit->si;
	plot->band_high = rate->band_high_pa_s / unit->si;
	axis_fit(&plot->y, 0, high, RATE_TICKS);
}

bool run_plot_rate(struct run_plot *drawing, const struct run_curve *curve)
{
	const struct outcome *outcome = curve->outcome;
	const struct rate *rate = &outcome->judgement.rate;
	const struct shown_unit *unit = shown_rate_unit(outcome->method);
	int64_t window_ns = rate->window_ns ? rate->window_ns : outcome->method->window_ns;
	size_t count = count_rising(curve);
	struct text title;
	if (!(outcome->area_m2 > 0) || !(rate->band_high_pa_s > 0) || count == 0 || window_ns <= 0)
		return false;
	if (!begin_plot(drawing, curve))
		return false;
	fill_rates(drawing, curve, count, window_ns, outcome->area_m2 * unit->si);
	text_init(&title, drawing->title, sizeof(drawing->title));
	text_format(&title, "stress rate, %s, over ", unit->text);
	text_fixed(&title, window_ns / (CLOCKS_NS_PER_S / 10), 1);
	text_put(&title, " s; the band dashed, the judged span heavy below");
	axis_fit_tight(&drawing->plot.x, seconds_from(curve->origin, curve->samples[0].time.ns),
		seconds_from(curve->origin, curve->samples[curve->count - 1].time.ns), X_TICKS);
	set_band(&drawing->plot, rate, unit);
	return true;
}

void run_plot_scale_add(struct run_plot_scale *scale, const struct run_curve *curve)
{
	const struct judgement *judgement = &curve->outcome->judgement;
	if (curve->count > 0) {
		scale->time_low_s = fmin(
			scale->time_low_s, seconds_from(curve->origin, curve->samples[0].time.ns));
		scale->time_high_s = fmax(scale->time_high_s,
			seconds_from(curve->origin, curve->samples[curve->count - 1].time.ns));
	}
	scale->load_high_n =
		fmax(scale->load_high_n, (double)judgement->maximum_un / (double)UNITS_UN_PER_N);
	if (judgement->rate.band_high_pa_s > 0)
		scale->rate_high_pa_s = fmax(scale->rate_high_pa_s, rate_high(&judgement->rate));
}

void run_plot_set_scale(struct run_plot *load, struct run_plot *rate,
	const struct run_plot_scale *scale, const struct method *method, size_t x_ticks,
	size_t y_ticks)
{
	double newton = shown_unit(SHOWN_LOAD, method->inch_pound)->si;
	double pa_s = shown_rate_unit(method)->si;
	axis_fit_tight(&load->plot.x, scale->time_low_s, scale->time_high_s, x_ticks);
	axis_fit(&load->plot.y, 0, scale->load_high_n / newton, y_ticks);
	if (!rate)
		return;
	rate->plot.x = load->plot.x;
	axis_fit(&rate->plot.y, 0, scale->rate_high_pa_s / pa_s, y_ticks);
}

void run_plot_finish(struct run_plot *drawing)
{
	free(drawing->points);
	*drawing = (struct run_plot){0};
}
