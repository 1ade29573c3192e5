/* SPDX-License-Identifier: MIT
 *
 * Windows and what follows from them; see running.h.
 */
#include "judge/running.h"

#include "base/larger.h"

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
	running->one = false;
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
	if (running->one)
		return;
	window_advance(&running->band, track);
	running->one = running->band.first == running->live.first;
}

void running_rebuild(struct running *running, const struct track *track)
{
	window_rebuild(&running->live, track);
	window_rebuild(&running->judging, track);
	if (!running->one)
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
static double swing_rate(const struct policy *policy, double residual_n, double window_s)
{
	return 6 * root_two * residual_n / (pi * policy->slowest_hz * window_s * window_s);
}

struct fits {
	struct slope_fit live, band, judging;
};

static void learn(struct running *running, const struct fits *fits, double look_s, bool seating)
{
	const struct policy *policy = &running->plan->policy;
	struct incident_rates *rates = &running->rates;
	rates->live = fits->live.rate_n_s;
	rates->live_error = fits->live.error_n_s;
	if (fits->judging.rate_n_s > rates->own)
		rates->own = fits->judging.rate_n_s;
	else
		rates->own = follow(rates->own, fits->judging.rate_n_s, look_s, policy->own_rate_s);
	if (seating)
		return;
	double swing = fits->band.residual_n;
	if (rates->swing > 0)
		swing = follow(rates->swing, smaller(swing, policy->swing_factor * rates->swing),
			look_s, policy->swing_s);
	rates->swing = swing;
}

/* What the adviser gets once the band's own windows say something. */
static void show_band(struct running *running, const struct fits *fits, double reach)
{
	const struct plan *plan = running->plan;
	struct advice_rates *shown = &running->shown;
	double residual = larger(fits->band.residual_n, running->rates.swing);
	double short_s = plan->policy.live_s * smaller(1, reach);
	double long_s = (double)plan->window_ns * 1e-9;
	shown->live = band_unit(plan, fits->band.rate_n_s);
	shown->live_error = band_unit(plan, fits->band.error_n_s);
	shown->judging = band_unit(plan, fits->judging.rate_n_s);
	shown->judging_error = band_unit(plan, fits->judging.error_n_s);
	shown->swing = band_unit(plan, swing_rate(&plan->policy, residual, short_s));
	shown->judging_swing = band_unit(plan, swing_rate(&plan->policy, residual, long_s));
}

static bool fit_band(const struct running *running, bool live_known, struct fits *fits)
{
	if (!running->one)
		return slope_fit(&running->band.slope, &fits->band);
	if (!live_known)
		return slope_fit(&running->live.slope, &fits->band);
	fits->band = fits->live;
	return true;
}

bool running_look(struct running *running, const struct track *track, int64_t now_ns,
	int64_t step_un, bool seating)
{
	const struct policy *policy = &running->plan->policy;
	if ((double)(now_ns - running->looked_ns) < policy->look_s * 1e9)
		return false;
	double look_s = smaller((double)(now_ns - running->looked_ns) * 1e-9, policy->own_rate_s);
	running->looked_ns = now_ns;
	struct advice_rates *shown = &running->shown;
	struct fits fits;
	const struct window *band = running->one ? &running->live : &running->band;
	double reach = window_reach(band, track);
	shown->known = window_reach(&running->live, track) >= policy->window_full &&
		       slope_fit(&running->live.slope, &fits.live);
	shown->within = reach >= policy->window_begun && fit_band(running, shown->known, &fits) &&
			slope_fit(&running->judging.slope, &fits.judging);
	running->rates.known = shown->known && shown->within;
	running->rates.step = (double)step_un * 1e-6;
	if (!shown->known)
		return true;
	shown->live = band_unit(running->plan, fits.live.rate_n_s);
	shown->live_error = band_unit(running->plan, fits.live.error_n_s);
	shown->judging_full =
		shown->within && window_reach(&running->judging, track) >= policy->window_full;
	if (!shown->within)
		return true;
	learn(running, &fits, look_s, seating);
	show_band(running, &fits, reach);
	return true;
}
