/* SPDX-License-Identifier: MIT
 *
 * The shape of a top as it was judged before rules 4: by the times at which the load passed single
 * levels. Runs stored under those rules are judged again by them; nothing else calls this.
 */
#include "judge/ending_before.h"

#include <math.h>

enum { OUTLINE_MAX = 1024 };

static double seconds_between(const struct track *track, size_t from, size_t to)
{
	return (double)(track_time_ns(track, to) - track_time_ns(track, from)) * 1e-9;
}

/* Load i in parts of the top. */
static double part(const struct track *track, size_t i, size_t top)
{
	return (double)track_load_un(track, i) / (double)track_load_un(track, top);
}

/* Time at which the straight line between two samples crosses the level, in s after the top. */
static double crossing(
	const struct track *track, size_t before, size_t after, size_t top, double level)
{
	double a = part(track, before, top), b = part(track, after, top);
	double share = a == b ? 1 : (a - level) / (a - b);
	double start = seconds_between(track, top, before);
	return start + share * seconds_between(track, before, after);
}

/* First rise through the level, in s before the top (negative); NAN if the record begins above. */
static double rise_through(const struct track *track, size_t top, double level)
{
	size_t i = 0;
	while (i < top && part(track, i, top) < level)
		i++;
	return i == 0 ? NAN : crossing(track, i - 1, i, top, level);
}

/* Last fall through the level before `below`, in s after the top. */
static double fall_through(const struct track *track, size_t top, size_t below, double level)
{
	size_t i = below;
	while (i > top && part(track, i, top) < level)
		i--;
	return i == below ? NAN : crossing(track, i, i + 1, top, level);
}

/* Speed of the fall from decline_fraction to decline_to, or as far as the record goes, in parts of
 * the top per second; 0 if that cannot be told. */
static double decline_speed(
	const struct track *track, size_t top, size_t below, const struct policy *policy)
{
	double limit = policy->decline_to * (double)track_load_un(track, top);
	size_t end = track_below(track, below, (int64_t)limit);
	if (end == track->count)
		end = track->count - 1;
	double lasted = seconds_between(track, below - 1, end);
	double lost = part(track, below - 1, top) - part(track, end, top);
	return lost > 0 ? lost / lasted : 0;
}

/* Rate of the ramp below the top, in parts of the top per second; 0 if it is not on record. */
static double ramp_speed(const struct track *track, size_t top, const struct policy *policy)
{
	/* two stretches: a stand-still in one of them must not pass for its rate */
	const double levels[] = {policy->ramp_from, policy->ramp_middle, policy->ramp_to};
	double fastest = 0;
	for (size_t i = 0; i + 1 < sizeof levels / sizeof levels[0]; i++) {
		double from = rise_through(track, top, levels[i]);
		double to = rise_through(track, top, levels[i + 1]);
		if (to > from)
			fastest = fmax(fastest, (levels[i + 1] - levels[i]) / (to - from));
	}
	return fastest;
}

static bool yielded(
	const struct track *track, size_t top, size_t below, const struct policy *policy)
{
	double up_round = rise_through(track, top, policy->round_level);
	double down_round = fall_through(track, top, below, policy->round_level);
	double ramp = ramp_speed(track, top, policy);
	if (isnan(up_round) || isnan(down_round) || ramp <= 0)
		return false;
	double corner = (1 - policy->round_level) / ramp;
	double decline = decline_speed(track, top, below, policy);
	if (decline > 0)
		corner += (1 - policy->round_level) / decline;
	double near_top = down_round - up_round;
	double flat = fall_through(track, top, below, policy->flat_level) -
		      rise_through(track, top, policy->flat_level);
	/* two ways to spend that time: a hold on top of the corner, or a parabola */
	double flat_if_held = near_top - corner * (policy->flat_level - policy->round_level) /
						 (1 - policy->round_level);
	double flat_if_round =
		near_top * sqrt((1 - policy->flat_level) / (1 - policy->round_level));
	return near_top > policy->round_ratio * corner && flat < (flat_if_held + flat_if_round) / 2;
}

/* The same question to a smoothed copy, so that a hunting press does not draw tops of its own. */
static bool yielded_smoothed(
	const struct track *track, size_t top, size_t below, const struct policy *policy)
{
	struct slope_point points[OUTLINE_MAX];
	struct track outline = {.fresh = points, .capacity = OUTLINE_MAX};
	int64_t length_ns = (int64_t)(policy->hunting_s / 2 * 1e9);
	size_t begin = track_reach(
		track, 0, (int64_t)(policy->outline_from * (double)track_load_un(track, top)));
	int64_t span_ns = track_time_ns(track, below) - track_time_ns(track, begin);
	if (span_ns / (length_ns / 4) > OUTLINE_MAX / 2)
		length_ns = span_ns / OUTLINE_MAX * 8;
	outline.count = track_smooth(track, begin, length_ns, points, OUTLINE_MAX);
	size_t high = 0;
	for (size_t i = 1; i < outline.count; i++) {
		if (points[i].load_un > points[high].load_un)
			high = i;
	}
	if (outline.count == 0)
		return false;
	double limit = policy->decline_fraction * (double)points[high].load_un;
	size_t under = track_below(&outline, high, (int64_t)limit);
	return under < outline.count && yielded(&outline, high, under, policy);
}

bool ending_before_round(const struct track *track, size_t top, size_t below,
	const struct policy *policy, double swing_n)
{
	double load_n = (double)track_load_un(track, top) * 1e-6;
	/* smoothing would round the corner of a fast fall */
	double smooth_s = policy->hunting_s / 2;
	bool smooth =
		swing_n > policy->smooth_swing * load_n &&
		decline_speed(track, top, below, policy) * smooth_s < 2 * (1 - policy->round_level);
	return smooth ? yielded_smoothed(track, top, below, policy)
		      : yielded(track, top, below, policy);
}
