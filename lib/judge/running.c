/* SPDX-License-Identifier: MIT
 *
 * Windows and what follows from them; see running.h.
 */
#include "judge/running.h"

#include <math.h>

/* Rates, and what follows from them, are looked at no more often than this. */
static const int64_t look_ns = 10 * CLOCKS_NS_PER_MS;
/* The run's own rate is forgotten with this time constant: longer than hunting, shorter than a
 * test. */
static const double own_rate_s = 8;
/* A window is full when it spans this share of its length (samples are discrete), and says
 * something of a rate from half of it on. */
static const double full_reach = 0.8, begun_reach = 0.5;
/* The load's swing about its ramp is averaged over this time, and one look may not exceed the swing
 * known by more than this factor: a bend in the ramp or a fall is no swing. */
static const double swing_s = 5, swing_factor = 2;
/* The slowest hunting seen on presses, in Hz. */
static const double slowest_hz = 0.5;
static const double pi = 3.14159265358979323846, root_two = 1.4142135623730951;

void running_init(struct running *running, const struct plan *plan)
{
	*running = (struct running){.plan = plan, .looked_ns = INT64_MIN / 2};
	running_touch(running, 0);
}

void running_band(struct running *running, size_t first)
{
	window_init(&running->band, (int64_t)(running->plan->policy.live_s * 1e9), first);
	window_init(&running->judging, running->plan->window_ns, first);
	running->rates.own = 0;
	running->shown.judging_full = false;
}

void running_break(struct running *running, size_t first)
{
	window_init(&running->live, (int64_t)(running->plan->policy.live_s * 1e9), first);
	running->rates.known = false;
	running->shown.known = false;
	running_band(running, first);
}

void running_touch(struct running *running, size_t first)
{
	running->rates = (struct incident_rates){0};
	running->shown = (struct advice_rates){0};
	running_break(running, first);
}

void running_advance(struct running *running, const struct track *track)
{
	window_advance(&running->live, track);
	window_advance(&running->judging, track);
	window_advance(&running->band, track);
}

void running_rebuild(struct running *running, const struct track *track)
{
	window_rebuild(&running->live, track);
	window_rebuild(&running->judging, track);
	window_rebuild(&running->band, track);
}

static double band_unit(const struct plan *plan, double rate_n_s)
{
	return plan->area_m2 > 0 ? rate_n_s / plan->area_m2 / plan->rate_unit_pa : 0;
}

static double follow(double value, double target, double time_s, double constant_s)
{
	return value + (target - value) * time_s / (constant_s + time_s);
}

/* Most that a sine of this residual does to the slope of a window: 6 A / (pi f W^2), the slowest
 * hunting being the worst; in N/s. */
static double swing_rate(double residual_n, double window_s)
{
	return 6 * root_two * residual_n / (pi * slowest_hz * window_s * window_s);
}

struct fits {
	struct slope_fit live, band, judging;
};

static void learn(struct running *running, const struct fits *fits, double look_s, bool seating)
{
	struct incident_rates *rates = &running->rates;
	rates->live = fits->live.rate_n_s;
	rates->live_error = fits->live.error_n_s;
	if (fits->judging.rate_n_s > rates->own)
		rates->own = fits->judging.rate_n_s;
	else
		rates->own = follow(rates->own, fits->judging.rate_n_s, look_s, own_rate_s);
	if (seating)
		return;
	double swing = fits->band.residual_n;
	if (rates->swing > 0)
		swing = follow(
			rates->swing, fmin(swing, swing_factor * rates->swing), look_s, swing_s);
	rates->swing = swing;
}

/* What the adviser gets once the band's own windows say something. */
static void show_band(struct running *running, const struct fits *fits, double reach)
{
	const struct plan *plan = running->plan;
	struct advice_rates *shown = &running->shown;
	double residual = fmax(fits->band.residual_n, running->rates.swing);
	double short_s = plan->policy.live_s * fmin(1, reach);
	double long_s = (double)plan->window_ns * 1e-9;
	shown->live = band_unit(plan, fits->band.rate_n_s);
	shown->live_error = band_unit(plan, fits->band.error_n_s);
	shown->judging = band_unit(plan, fits->judging.rate_n_s);
	shown->judging_error = band_unit(plan, fits->judging.error_n_s);
	shown->swing = band_unit(plan, swing_rate(residual, short_s));
	shown->judging_swing = band_unit(plan, swing_rate(residual, long_s));
}

bool running_look(struct running *running, const struct track *track, int64_t now_ns,
	int64_t step_un, bool seating)
{
	if (now_ns - running->looked_ns < look_ns)
		return false;
	double look_s = fmin((double)(now_ns - running->looked_ns) * 1e-9, own_rate_s);
	running->looked_ns = now_ns;
	struct advice_rates *shown = &running->shown;
	struct fits fits;
	double reach = window_reach(&running->band, track);
	shown->known = window_reach(&running->live, track) >= full_reach &&
		       slope_fit(&running->live.slope, &fits.live);
	shown->within = reach >= begun_reach && slope_fit(&running->band.slope, &fits.band) &&
			slope_fit(&running->judging.slope, &fits.judging);
	running->rates.known = shown->known && shown->within;
	running->rates.step = (double)step_un * 1e-6;
	if (!shown->known)
		return true;
	shown->live = band_unit(running->plan, fits.live.rate_n_s);
	shown->live_error = band_unit(running->plan, fits.live.error_n_s);
	shown->judging_full = shown->within && window_reach(&running->judging, track) >= full_reach;
	if (!shown->within)
		return true;
	learn(running, &fits, look_s, seating);
	show_band(running, &fits, reach);
	return true;
}
