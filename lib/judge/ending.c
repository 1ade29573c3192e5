/* SPDX-License-Identifier: MIT
 *
 * Speed of the fall and shape of the top; see ending.h for the rule.
 */
#include "judge/ending.h"

#include "judge/chunk.h"
#include "judge/ending_before.h"
#include "judge/swing.h"
#include "judge/top.h"

#include <math.h>

/* Of a sine, in standard deviations. */
static const double crest_to_trough = 2.8284271247461903;

static double seconds_between(const struct track *track, size_t from, size_t to)
{
	return (double)(track_time_ns(track, to) - track_time_ns(track, from)) * 1e-9;
}

/* Load i in parts of the top. */
static double part(const struct track *track, size_t i, size_t top)
{
	return (double)track_load_un(track, i) / (double)track_load_un(track, top);
}

/* Largest part of the top lost within sudden_s between the top and half of it, per second; swung: a
 * part that the press's own swing may have taken. */
static double fastest_fall(
	const struct track *track, size_t top, const struct policy *policy, double swung)
{
	double fastest = 0, pace_ns = policy->rules >= 4 ? chunk_pace(track, top) : 0;
	size_t from = top;
	for (size_t i = top + 1; i < track->count; i++) {
		int64_t now_ns = chunk_taken(track, i, pace_ns);
		while (from + 1 < i && (double)(now_ns - chunk_taken(track, from + 1, pace_ns)) >=
					       policy->sudden_s * 1e9)
			from++;
		double lasted = (double)(now_ns - chunk_taken(track, from, pace_ns)) * 1e-9;
		lasted = fmax(lasted, policy->sudden_s);
		double lost = part(track, from, top) - part(track, i, top) - swung;
		fastest = fmax(fastest, lost / lasted);
		if (part(track, i, top) < policy->lost_fraction)
			break;
	}
	return fastest;
}

/* The fall below decline_fraction is confirmed by a lower sample, or by its depth. */
static bool goes_on(
	const struct track *track, size_t top, size_t below, const struct policy *policy)
{
	if (part(track, below, top) < policy->lost_fraction)
		return true;
	for (size_t i = below + 1; i < track->count; i++) {
		if (track_load_un(track, i) < track_load_un(track, below))
			return true;
	}
	return false;
}

/* The press's swing while the load rose to the sample `to`, in Hz; 0: none is seen. */
static double swing_before(
	const struct track *track, size_t top, size_t to, const struct policy *policy)
{
	double least = policy->outline_from * (double)track_load_un(track, top);
	size_t from = to;
	while (from > 0 && (double)track_load_un(track, from - 1) >= least &&
		seconds_between(track, from - 1, to) <= policy->swing_fit_s)
		from--;
	return swing_frequency(track, from, to, policy);
}

/* The time that an outline spends above round_level, in parts of that of a corner of the same
 * rates. */
static double wideness(const struct top_outline *outline, const struct policy *policy)
{
	const double *bend = outline->bend, depth = 1 - policy->round_level;
	const double rates[] = {outline->ramp, outline->fall};
	const double widths[] = {bend[1] - bend[0], bend[3] - bend[2]};
	double near_top = 0, corner = 0;
	for (int i = 0; i < 2; i++) {
		bool within = rates[i] * widths[i] / 2 >= depth;
		near_top += within ? sqrt(2 * depth * widths[i] / rates[i])
				   : widths[i] / 2 + depth / rates[i];
		corner += depth / rates[i];
	}
	return near_top / corner;
}

/* Where the outlines begin if swing_turns of the swing are to be in them. */
static size_t turns_before(const struct track *track, const struct top_span *span, double hz,
	const struct policy *policy)
{
	double least = policy->outline_from * (double)track_load_un(track, span->top);
	double seen_hz = swing_seen_hz(hz, 1e9 / chunk_pace(track, span->top));
	size_t from = span->from;
	while (hz > 0 && from > 0 && (double)track_load_un(track, from - 1) >= least &&
		seconds_between(track, from, span->to) * seen_hz < policy->swing_turns)
		from--;
	return from;
}

static bool fit_top(const struct track *track, const struct top_span *span,
	const struct policy *policy, struct top_shape *shape)
{
	double hz = swing_before(track, span->top, span->from, policy);
	if (!top_fit(track, span, hz, policy, shape))
		return false;
	struct top_span longer = *span;
	longer.from = turns_before(track, span, shape->hz, policy);
	struct top_shape other;
	if (longer.from < span->from && top_fit(track, &longer, shape->hz, policy, &other) &&
		top_better(&other)->square <= policy->swing_same * top_better(shape)->square)
		*shape = other;
	return true;
}

/* The specimen yielded: its top is round. */
static bool yielded(
	const struct track *track, size_t top, size_t below, const struct policy *policy)
{
	double level = policy->top_level * (double)track_load_un(track, top);
	struct top_span span = {top, top, below};
	while (span.from > 0 && (double)track_load_un(track, span.from) >= level)
		span.from--;
	while (span.to + 1 < track->count && (double)track_load_un(track, span.to) >= level)
		span.to++;
	struct top_shape shape;
	if (!fit_top(track, &span, policy, &shape))
		return false;
	double rounded = shape.rounded.square, cornered = shape.cornered.square;
	double surely = exp(2 * policy->corner_surely / (double)shape.count);
	double least = policy->round_ratio;
	if (rounded * policy->corner_clear < cornered)
		least = policy->round_clear_ratio;
	else if (rounded > surely * cornered)
		least = policy->round_sure_ratio;
	return rounded < policy->corner_clear * cornered &&
	       wideness(&shape.rounded, policy) > least;
}

bool ending_sudden(
	const struct track *track, size_t top, const struct policy *policy, double swing_n)
{
	double swung = policy->rules >= 4
			       ? crest_to_trough * swing_n * 1e6 / (double)track_load_un(track, top)
			       : 0;
	double limit = policy->decline_fraction * (double)track_load_un(track, top);
	size_t below = track_below(track, top, (int64_t)limit);
	return below < track->count && goes_on(track, top, below, policy) &&
	       fastest_fall(track, top, policy, swung) >= policy->sudden_per_s;
}

enum fall ending_fall(
	const struct track *track, size_t top, const struct policy *policy, double swing_n)
{
	double load_n = (double)track_load_un(track, top) * 1e-6;
	size_t below = track_below(track, top, (int64_t)(policy->decline_fraction * load_n * 1e6));
	if (below == track->count)
		return FALL_NONE;
	if (ending_sudden(track, top, policy, swing_n))
		return FALL_BROKEN;
	/* a load that swings has not gone down before it is lower than its swing takes it */
	double swung_un = (load_n - policy->drop_swings * swing_n) * 1e6;
	if (policy->rules >= 3 && track_below(track, below, (int64_t)swung_un) == track->count)
		return FALL_NONE;
	bool round = policy->rules >= 4 ? yielded(track, top, below, policy)
					: ending_before_round(track, top, below, policy, swing_n);
	return round ? FALL_BROKEN : FALL_LET_OFF;
}
