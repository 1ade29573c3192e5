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

void truth_of_rate(const struct scene *scene, enum basis basis, struct truth *truth)
{
	const struct drawing *drawing = &scene->drawing;
	double maximum_s;
	double maximum = drawing_maximum(drawing, scene->loaded_until_s, &maximum_s);
	double base = basis == BASIS_ANTICIPATED ? (double)scene->plan.anticipated_load_un * 1e-6
						 : maximum;
	*truth = (struct truth){
		.from_s = drawing_reach(drawing, scene->plan.span_from * base),
		.to_s = drawing_reach(drawing, scene->plan.span_to * maximum),
		.excess_n_s = -INFINITY,
	};
	truth->judged = truth->from_s >= 0 && truth->from_s < truth->to_s;
	if (!truth->judged)
		return;
	truth->window_s = fmin((double)scene->plan.window_ns * 1e-9,
		(truth->to_s - truth->from_s) * scene->plan.policy.window_share);
	double step_s = truth->window_s / looks;
	double last_s = truth->to_s - truth->window_s;
	for (double at_s = truth->from_s; at_s <= last_s; at_s += step_s) {
		double slope = drawing_slope(drawing, at_s, truth->window_s);
		double excess = fmax(slope - scene->high_n_s, scene->low_n_s - slope);
		truth->excess_n_s = fmax(truth->excess_n_s, excess);
	}
	truth->error_n_s = world_slope_error(&scene->world, scene->rate_n_s, truth->window_s);
	truth->gap_s = longest_gap(scene, truth->from_s, truth->to_s);
}

enum mark truth_mark(const struct scene *scene, const struct truth *truth, enum verdict verdict)
{
	if (!truth->judged)
		return verdict == VERDICT_UNDETERMINED ? MARK_RIGHT : MARK_WRONG;
	double close = close_share * (scene->high_n_s - scene->low_n_s) / 2;
	double error = truth->error_n_s, excess = truth->excess_n_s;
	bool stop = scene->stop_s > truth->from_s && scene->stop_s < truth->to_s;
	bool out = excess > 2 * error + close || stop;
	bool in = excess < -2 * error - close && !stop;
	if (scene->lost)
		return MARK_CLOSE;
	if (scene->gap && verdict == VERDICT_UNDETERMINED) {
		bool needed = truth->gap_s > 0.7 * truth->window_s || truth->gap_s == 0;
		bool swings = scene->world.hunting_n > 0; /* seen from both sides of a gap only */
		return needed ? MARK_RIGHT : (in || out) && !swings ? MARK_WRONG : MARK_CLOSE;
	}
	if (scene->gap && truth->gap_s > truth->window_s && in)
		return MARK_WRONG;
	if (out && verdict == VERDICT_OUT_OF_BAND)
		return MARK_RIGHT;
	if (in && verdict == VERDICT_IN_BAND)
		return MARK_RIGHT;
	bool far = fabs(excess) > 4 * error + close || stop;
	if ((out && verdict == VERDICT_IN_BAND) || (in && verdict == VERDICT_OUT_OF_BAND) || far)
		return MARK_WRONG;
	return MARK_CLOSE;
}
