/* SPDX-License-Identifier: MIT
 *
 * Windows and what follows from them; see running.h.
 */
#include "judge/running.h"

#include "base/larger.h"

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
	if (running->plan->policy.rules >= 4 && running->swing_kept[0] > 0)
		running->rates.swing = running->swing_kept[0];
	window_init(&running->live, (int64_t)(running->plan->policy.live_s * 1e9), first);
	running->rates.known = false;
	running->shown.known = false;
	running_band(running, first);
}

void running_touch(struct running *running, size_t first)
{
	running->rates = (struct incident_rates){0};
	running->shown = (struct advice_rates){0};
	running->integral_square = running->integral_s = 0;
	running->swing_learnt_s = running->swing_kept[0] = running->swing_kept[1] = 0;
	running_break(running, first);
}

static void advance(struct window *window, const struct track *track)
{
	if (window->next < track->count)
		window_advance(window, track, track->count);
}

void running_advance(struct running *running, const struct track *track)
{
	advance(&running->live, track);
	advance(&running->judging, track);
	if (running->one)
		return;
	advance(&running->band, track);
	running->one = running->band.first == running->live.first;
}

void running_rebuild(struct running *running, const struct track *track)
{
	window_rebuild(&running->live, track);
	window_rebuild(&running->judging, track);
	if (!running->one)
		window_rebuild(&running->band, track);
}

static double follow(double value, double target, double time_s, double constant_s)
{
	return value + (target - value) * time_s / (constant_s + time_s);
}

/* What one look finds. */
struct fits {
	struct slope_fit live;
	struct slope_fit band_own;    /* while the band's window is another than the live one */
	const struct slope_fit *band; /* one of the two above */
	double judging_n_s, judging_error_n_s;
};

static void learn(struct running *running, const struct fits *fits, double look_s, bool bent)
{
	const struct policy *policy = &running->plan->policy;
	struct incident_rates *rates = &running->rates;
	rates->live = fits->live.rate_n_s;
	rates->live_error = fits->live.error_n_s;
	if (fits->judging_n_s > rates->own)
		rates->own = fits->judging_n_s;
	else
		rates->own = follow(rates->own, fits->judging_n_s, look_s, policy->own_rate_s);
	if (bent)
		return;
	double swing = fits->band->residual_n;
	/* at first the mean of what was seen: it begins small, since the load does */
	double constant_s = policy->rules >= 4 ? smaller(running->swing_learnt_s, policy->swing_s)
					       : policy->swing_s;
	running->swing_learnt_s = constant_s + look_s;
	if (rates->swing > 0)
		swing = follow(rates->swing, smaller(swing, policy->swing_factor * rates->swing),
			look_s, constant_s);
	rates->swing = swing;
}

/* What the swing does to a slope goes by its integral over time, at the two ends of the window: the
 * slope departs by 6 / W^2 times their sum, the mean load by their difference over W. Against the
 * line of the longer judging window both show, whatever the frequency. */
static void learn_integral(struct running *running, const struct fits *fits, double look_s)
{
	const struct policy *policy = &running->plan->policy;
	const struct slope *band = running->one ? &running->live.slope : &running->band.slope;
	const struct slope *judging = &running->judging.slope;
	double rate = fits->judging_n_s, slope = fits->band->rate_n_s - rate;
	double later_s = (double)(slope_middle_ns(band) - slope_middle_ns(judging)) * 1e-9;
	double mean = slope_middle_n(band) - slope_middle_n(judging) - rate * later_s;
	double sum = slope * policy->live_s * policy->live_s / 6,
	       difference = mean * policy->live_s;
	double square = (sum * sum + difference * difference) / 4;
	double known = running->integral_square;
	double factor = policy->swing_factor * policy->swing_factor;
	if (known > 0 && running->integral_s >= policy->live_s)
		square = smaller(square, factor * known);
	running->integral_square =
		known > 0 ? follow(known, square, look_s, running->integral_s) : square;
	running->integral_s = smaller(running->integral_s + look_s, policy->own_rate_s);
}

/* Remembers the swing of a window ago: what breaks a window has been in the newest one. */
static void keep_swing(struct running *running, int64_t now_ns)
{
	if ((double)(now_ns - running->kept_ns) < running->plan->policy.live_s * 1e9)
		return;
	running->kept_ns = now_ns;
	running->swing_kept[0] = running->swing_kept[1];
	running->swing_kept[1] = running->rates.swing;
}

/* What the adviser gets once the band's own windows say something. */
static void show_band(struct running *running, const struct fits *fits, double reach)
{
	struct advice_rates *shown = &running->shown;
	shown->live = fits->band->rate_n_s;
	shown->live_error = fits->band->error_n_s;
	shown->judging = fits->judging_n_s;
	shown->judging_error = fits->judging_error_n_s;
	shown->residual_n = larger(fits->band->residual_n, running->rates.swing);
	shown->integral_square =
		running->integral_s >= running->plan->policy.swing_s ? running->integral_square : 0;
	shown->window_reach = reach;
}

static bool fit_band(const struct running *running, struct fits *fits)
{
	fits->band = running->one ? &fits->live : &fits->band_own;
	return running->one || slope_fit(&running->band.slope, &fits->band_own);
}

/* The error of the judging window's slope is wanted where a warning may come of it, and nowhere
 * else. */
static bool fit_judging(const struct running *running, bool warned, struct fits *fits)
{
	struct slope_fit fit;
	fits->judging_error_n_s = 0;
	if (!warned)
		return slope_rate(&running->judging.slope, &fits->judging_n_s);
	if (!slope_fit(&running->judging.slope, &fit))
		return false;
	fits->judging_n_s = fit.rate_n_s;
	fits->judging_error_n_s = fit.error_n_s;
	return true;
}

/* It spans most of its length, or all that there is in it where readings come in chunks. */
static inline bool is_full(const struct policy *policy, const struct window *window, double reach)
{
	if (reach >= policy->window_full || policy->rules < 4)
		return reach >= policy->window_full;
	return reach >= policy->window_begun &&
	       window->newest_ns - window->since_ns >= window->length_ns;
}

void running_look(struct running *running, const struct track *track, int64_t now_ns,
	int64_t step_un, bool bent, bool warned)
{
	const struct policy *policy = &running->plan->policy;
	double look_s = smaller((double)(now_ns - running->looked_ns) * 1e-9, policy->own_rate_s);
	running->looked_ns = now_ns;
	running_advance(running, track);
	struct advice_rates *shown = &running->shown;
	struct fits fits;
	running->rates.known = false;
	running->rates.step = (double)step_un * 1e-6;
	double reach = window_reach(&running->live);
	shown->known = is_full(policy, &running->live, reach) &&
		       slope_fit(&running->live.slope, &fits.live);
	if (!shown->known)
		return;
	shown->live = fits.live.rate_n_s;
	shown->live_error = fits.live.error_n_s;
	if (!running->one)
		reach = window_reach(&running->band);
	shown->within = reach >= policy->window_begun && fit_band(running, &fits) &&
			fit_judging(running, warned, &fits);
	if (!shown->within)
		return;
	running->rates.known = true;
	shown->judging_full = is_full(policy, &running->judging, window_reach(&running->judging));
	learn(running, &fits, look_s, bent);
	keep_swing(running, now_ns);
	if (!bent && shown->judging_full && reach >= policy->window_full)
		learn_integral(running, &fits, look_s);
	show_band(running, &fits, reach);
}
