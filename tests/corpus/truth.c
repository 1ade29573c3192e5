/* SPDX-License-Identifier: MIT
 *
 * Span and worst window of the noiseless drawing.
 */
#include "truth.h"

#include <math.h>

/* Windows looked at per window length. */
static const double looks = 50;
/* A limit is close within this part of the band's half-width, whatever the noise. */
static const double close_share = 0.02;

/* A gap is surely longer than the judging window from here on: noise moves the ends of the span. */
static const double sure_gap = 1.15;

/* The longest judging window, as a part of the judged span: the judge's own may be changed to see
 * what comes of it, the truth stays. */
static const double window_share = 1.0 / 3;

/* A window with fewer readings, or chunks of them, says little of its rate. */
static const double few_readings = 6;

static double longest_gap(const struct scene *scene, double from_s, double to_s)
{
	double longest = 0;
	for (size_t i = 0; i < scene->world.fault_count; i++) {
		const struct fault *fault = &scene->world.faults[i];
		if (fault->kind != FAULT_SPIKE && fault->time_s < to_s &&
			fault->time_s + fault->seconds > from_s)
			longest = fmax(longest, fault->seconds);
	}
	return longest;
}

/* Of the windows between two times the one farthest beyond a limit. */
static double worst_excess(
	const struct scene *scene, const struct truth *truth, double from_s, double to_s, bool *low)
{
	double worst = -INFINITY;
	double step_s = truth->window_s / looks;
	double first_s = from_s;
	double last_s = to_s - truth->window_s;
	for (double at_s = first_s; first_s <= last_s && at_s < last_s + step_s; at_s += step_s) {
		at_s = fmin(at_s, last_s); /* the last window is that of the span's end */
		double slope = drawing_slope(&scene->drawing, at_s, truth->window_s);
		double excess = fmax(slope - scene->high_n_s, scene->low_n_s - slope);
		if (excess <= worst)
			continue;
		worst = excess;
		*low = scene->low_n_s - slope > slope - scene->high_n_s;
	}
	return worst;
}

double truth_swing_n(const struct scene *scene)
{
	const struct world *world = &scene->world;
	return world->hunting_n + world->ripple_n + 3 * world->noise_n + world->step_n;
}

/* When the readings may say that a load is reached: earliest and latest. */
static void find_ends(const struct scene *scene, double load_n, double *early_s, double *late_s)
{
	double reading_s = scene->world.chunk / scene->world.hz, swing_n = truth_swing_n(scene);
	double early = drawing_reach(&scene->drawing, load_n - swing_n);
	double late = drawing_reach(&scene->drawing, load_n + swing_n);
	double at = drawing_reach(&scene->drawing, load_n);
	*early_s = (early >= 0 ? early : at) - reading_s;
	*late_s = (late >= 0 ? late : at) + reading_s;
}

void truth_of_rate(const struct scene *scene, enum basis basis, struct truth *truth)
{
	const struct drawing *drawing = &scene->drawing;
	double maximum_s;
	double maximum = drawing_maximum(drawing, scene->loaded_until_s, &maximum_s);
	double base = basis == BASIS_ANTICIPATED ? (double)scene->plan.anticipated_load_un * 1e-6
						 : maximum;
	double plan_from = scene->plan.span_from, plan_to = scene->plan.span_to;
	*truth = (struct truth){
		.from_s = drawing_reach(drawing, plan_from * base),
		.to_s = drawing_reach(drawing, plan_to * maximum),
		.excess_n_s = -INFINITY,
		.sure_n_s = -INFINITY,
		.widest_n_s = -INFINITY,
	};
	truth->judged = truth->from_s >= 0 && truth->from_s < truth->to_s;
	if (!truth->judged)
		return;
	truth->window_s = fmin(
		(double)scene->plan.window_ns * 1e-9, (truth->to_s - truth->from_s) * window_share);
	find_ends(scene, plan_from * base, &truth->early_from_s, &truth->late_from_s);
	find_ends(scene, plan_to * maximum, &truth->early_to_s, &truth->late_to_s);
	bool low;
	truth->excess_n_s = worst_excess(scene, truth, truth->from_s, truth->to_s, &truth->low);
	truth->sure_n_s = worst_excess(scene, truth, truth->late_from_s, truth->early_to_s, &low);
	truth->widest_n_s = worst_excess(scene, truth, truth->early_from_s, truth->late_to_s, &low);
	truth->error_n_s = world_slope_error(&scene->world, scene->rate_n_s, truth->window_s);
	truth->gap_s = longest_gap(scene, truth->late_from_s, truth->early_to_s);
	truth->near_gap_s = longest_gap(scene, truth->early_from_s, truth->late_to_s);
	truth->few = truth->window_s * scene->world.hz < few_readings * scene->world.chunk;
}

/* Half the width of the band. */
static double half_width(const struct scene *scene)
{
	return (scene->high_n_s - scene->low_n_s) / 2;
}

bool truth_is_fine(const struct scene *scene, const struct truth *truth)
{
	return truth->judged && 2 * truth->error_n_s < half_width(scene) / 4;
}

/* An undetermined verdict on a scene whose readings are incomplete. */
static enum mark mark_incomplete(const struct scene *scene, const struct truth *truth, bool clear)
{
	bool needed = truth->near_gap_s > 0.7 * truth->window_s;
	if (needed || scene->unknowable)
		return MARK_RIGHT;
	/* a swing is seen from both sides of a gap only */
	return clear && scene->press == PRESS_QUIET ? MARK_REFUGE : MARK_CLOSE;
}

/* Within the longest span that it may be. */
static bool is_near(const struct truth *truth, double time_s)
{
	return time_s > truth->early_from_s && time_s < truth->late_to_s;
}

enum mark truth_mark(const struct scene *scene, const struct truth *truth, enum verdict verdict)
{
	bool undetermined = verdict == VERDICT_UNDETERMINED;
	if (!truth->judged)
		return undetermined                     ? MARK_RIGHT
		       : verdict == VERDICT_OUT_OF_BAND ? MARK_ALARM
							: MARK_MISS;
	double close = close_share * half_width(scene);
	double error = truth->error_n_s, excess = truth->widest_n_s, sure = truth->sure_n_s;
	bool perhaps = is_near(truth, scene->perhaps_s) || is_near(truth, scene->stop_s);
	bool stop = scene->stop_s > truth->late_from_s && scene->stop_s < truth->early_to_s;
	bool out = sure > 2 * error + close || stop;
	bool in = excess < -2 * error - close && !stop;
	if (scene->lost)
		return MARK_CLOSE;
	bool gapped = scene->gap && truth->gap_s > sure_gap * truth->window_s;
	if (verdict == VERDICT_IN_BAND && (out || scene->unknowable || (gapped && in)))
		return MARK_MISS;
	if (verdict == VERDICT_OUT_OF_BAND && in)
		return perhaps ? MARK_CLOSE : MARK_ALARM;
	if (undetermined && scene->hidden)
		return MARK_RIGHT;
	if (undetermined && (scene->gap || scene->unknowable))
		return mark_incomplete(scene, truth, in || out);
	if (!in && !out)
		return MARK_CLOSE;
	if (!undetermined)
		return MARK_RIGHT;
	if (truth->few)
		return MARK_CLOSE;
	bool far = out ? sure > 4 * error + close || stop : excess < -4 * error - close;
	return far ? MARK_REFUGE : MARK_HESITANT;
}
