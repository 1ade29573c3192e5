/* SPDX-License-Identifier: MIT
 *
 * Sustained departures, and the words for each phase.
 */
#include "judge/advice.h"

#include "base/units.h"

#include "base/larger.h"

#include <math.h>
#include <stdio.h>

static const double pi = 3.14159265358979323846, root_two = 1.4142135623730951;

double advice_unit(const struct plan *plan, double rate_n_s)
{
	return plan->area_m2 > 0 ? rate_n_s / plan->area_m2 / plan->rate_unit_pa : 0;
}

void advice_init(struct adviser *adviser, const struct plan *plan)
{
	*adviser = (struct adviser){.plan = plan};
}

/* Most that a sine does to the slope of a window: 12 / W^2 times the amplitude of its integral over
 * time, in N/s. As long as that is not known, the slowest hunting of the same residual A is the
 * worst: A / (2 pi f). */
static double swing_rate(
	const struct policy *policy, const struct advice_rates *rates, double window_s)
{
	double integral = rates->residual_n / (2 * pi * policy->slowest_hz);
	if (policy->warn_integral > 0 && rates->integral_square > 0)
		integral = smaller(integral, policy->warn_integral * sqrt(rates->integral_square));
	return 12 * root_two * integral / (window_s * window_s);
}

/* Which limit a rate is beyond (+1, -1), and beyond doubt: hunting alone cannot move it so far. */
static int beyond(const struct plan *plan, const struct advice_rates *rates, double rate,
	double error_n_s, double window_s)
{
	if (rate <= plan->band_high && rate >= plan->band_low)
		return 0;
	double swing = advice_unit(plan, swing_rate(&plan->policy, rates, window_s));
	double doubt = larger(plan->policy.warn_hunting * swing,
		plan->policy.warn_sigmas * advice_unit(plan, error_n_s));
	if (rate > plan->band_high + doubt)
		return 1;
	return rate < plan->band_low - doubt ? -1 : 0;
}

static int side_of(const struct adviser *adviser, const struct advice_rates *rates)
{
	const struct plan *plan = adviser->plan;
	double live = advice_unit(plan, rates->live);
	double short_s = plan->policy.live_s * smaller(1, rates->window_reach);
	int side = beyond(plan, rates, live, rates->live_error, short_s);
	if (side != 0 || !rates->judging_full)
		return side;
	side = beyond(plan, rates, advice_unit(plan, rates->judging), rates->judging_error,
		(double)plan->window_ns * 1e-9);
	bool too = side > 0 ? live > plan->band_high : live < plan->band_low;
	return too ? side : 0;
}

void advice_learn(struct adviser *adviser, const struct advice_rates *rates, int64_t now_ns,
	bool in_band_phase)
{
	if (!rates->known)
		return;
	int side = in_band_phase && rates->within ? side_of(adviser, rates) : 0;
	if (side != adviser->pending) {
		adviser->pending = side;
		adviser->beyond_ns = now_ns;
	}
	double lasted_s = (double)(now_ns - adviser->beyond_ns) * 1e-9;
	if (lasted_s >= adviser->plan->policy.warn_s)
		adviser->side = side;
}

static void say_rate(const struct plan *plan, double rate, int side, struct live *live)
{
	const char *unit = rate_unit_text(plan->unit);
	int places = rate_unit_limit_places(plan->unit);
	double limit = side > 0 ? plan->band_high : plan->band_low;
	if (side != 0)
		snprintf(live->text, sizeof live->text, "rate %.*f %s, %s %.*f: %s", places, rate,
			unit, side > 0 ? "above" : "below", places, limit,
			side > 0 ? "ease the valve" : "open the valve a little, unless it yields");
	else if (rate >= plan->band_low && rate <= plan->band_high)
		snprintf(
			live->text, sizeof live->text, "rate %.*f %s, in band", places, rate, unit);
	else
		snprintf(live->text, sizeof live->text, "rate %.*f %s; band %.*f to %.*f", places,
			rate, unit, places, plan->band_low, places, plan->band_high);
}

static void say_ahead(const struct plan *plan, struct live *live)
{
	bool si = !rate_unit_is_inch_pound(plan->unit);
	double newton = (double)live->band_begins_un * 1e-6;
	snprintf(live->text, sizeof live->text, "band begins at %.0f %s",
		si ? newton * 1e-3 : newton / UNITS_NEWTON_PER_LBF, si ? "kN" : "lbf");
}

static void say_blind(const struct plan *plan, double rate, struct live *live)
{
	int places = rate_unit_limit_places(plan->unit);
	snprintf(live->text, sizeof live->text, "rate %.*f %s; band %.*f to %.*f from the half on",
		places, rate, rate_unit_text(plan->unit), places, plan->band_low, places,
		plan->band_high);
}

static void say(struct live *live, enum advice advice, bool warning, const char *text)
{
	live->advice = advice;
	live->warning = warning;
	snprintf(live->text, sizeof live->text, "%s", text);
}

void advice_say(const struct adviser *adviser, const struct advice_rates *rates, bool standing,
	struct live *live)
{
	const struct plan *plan = adviser->plan;
	bool rate = rates->known && plan->area_m2 > 0;
	live->advice = ADVICE_NONE;
	live->warning = false;
	live->text[0] = '\0';
	switch (live->phase) {
	case PHASE_IDLE:
	case PHASE_RELEASED:
		break;
	case PHASE_YIELDING:
		say(live, ADVICE_LEAVE_ALONE, false, "leave the valve alone");
		break;
	case PHASE_DECLINING:
		say(live, ADVICE_DECLINING, false,
			"load is falling: go on until the fracture is well defined");
		break;
	case PHASE_SEATING:
	case PHASE_FIRST_HALF:
		if (live->band_begins_un > 0) {
			live->advice = ADVICE_BAND_AHEAD;
			say_ahead(plan, live);
		} else if (rate && live->phase == PHASE_FIRST_HALF) {
			say_blind(plan, advice_unit(plan, rates->live), live);
		}
		break;
	case PHASE_LATTER_HALF:
		if (!rate)
			break;
		if (standing) {
			say(live, ADVICE_STALL, true, "the load stands still");
			break;
		}
		live->advice = adviser->side > 0   ? ADVICE_TOO_FAST
			       : adviser->side < 0 ? ADVICE_TOO_SLOW
						   : ADVICE_IN_BAND;
		live->warning = adviser->side != 0;
		say_rate(plan, advice_unit(plan, rates->live), adviser->side, live);
		break;
	}
}
