/* SPDX-License-Identifier: MIT
 *
 * Least squares over the bends of an outline; see top.h for the outlines. For given bends an
 * outline is linear in the rest. The part of the ramp and that of the fall never overlap, so that
 * what each is worth is summed once and all pairs are tried on a grid; the best one is then moved
 * by steps that are halved.
 *
 * Two things are looked for afterwards in what the outlines leave, and the search is done again
 * with them: a swing of another frequency than the ramp had, and a kink in the ramp.
 */
#include "judge/top.h"

#include "judge/chunk.h"
#include "judge/side.h"
#include "judge/swing.h"

#include <assert.h>
#include <math.h>
#include <string.h>

enum { GRID = 24, HALVINGS = 6, KINKS = 24 };
static_assert((int)SIDE_POINTS_MAX <= (int)SWING_POINTS_MAX, "what is left is looked at whole");

/* Both sides of an outline. */
struct sides {
	struct side ramp, fall;
	double explained; /* of the squares of the load; 0: none are known */
};

static void gather(
	struct side_points *points, const struct track *track, const struct top_span *span)
{
	struct slope_point high = track_at(track, span->top);
	size_t from = span->from, to = span->to;
	double pace_ns = chunk_pace(track, to);
	size_t size = (to - from) / SIDE_POINTS_MAX + 1;
	points->count = 0;
	for (size_t i = from; i + size <= to + 1; i += size) {
		double time_ns = 0, load_un = 0;
		for (size_t k = i; k < i + size; k++) {
			time_ns += (double)(chunk_taken(track, k, pace_ns) - high.time_ns);
			load_un += (double)(track_load_un(track, k) - high.load_un);
		}
		points->time_s[points->count] = time_ns / (double)size * 1e-9;
		points->mean[points->count++] = load_un / (double)size / (double)high.load_un;
	}
	points->size = size;
}

/* The rates of these sides that leave least, times *size, which is positive. False if there are
 * none. fixed_count: of the parts that are fixed. */
static bool rates_of(const struct side *ramp, const struct side *fall, size_t fixed_count,
	double rates[2], double *size)
{
	double both = -side_dot(ramp->fixed, fall->fixed, fixed_count);
	*size = ramp->square * fall->square - both * both;
	rates[0] = fall->square * ramp->load - both * fall->load;
	rates[1] = ramp->square * fall->load - both * ramp->load;
	return *size > 1e-9 * ramp->square * fall->square && rates[0] > 0 && rates[1] > 0;
}

/* Takes these sides if they explain most so far. */
static bool consider(
	const struct side *ramp, const struct side *fall, size_t fixed_count, struct sides *best)
{
	double rates[2], size;
	if (!rates_of(ramp, fall, fixed_count, rates, &size))
		return false;
	double explained = rates[0] * ramp->load + rates[1] * fall->load;
	if (explained <= best->explained * size)
		return false;
	*best = (struct sides){*ramp, *fall, explained / size};
	return true;
}

static void try_grid(const struct side_points *points, bool round, struct sides *best)
{
	struct side ramps[GRID][GRID], falls[GRID][GRID];
	double times_s[GRID];
	size_t fixed = points->fixed_count;
	for (int i = 0; i < GRID; i++)
		times_s[i] = i < GRID / 2 ? points->time_s[0] * (GRID / 2 - i) / (GRID / 2)
					  : points->time_s[points->count - 1] * (i - GRID / 2) /
						    (GRID / 2 - 1);
	for (int i = 0; i < GRID; i++) {
		for (int j = i; j < (round ? GRID : i + 1); j++) {
			ramps[i][j] = side_at(points, times_s[i], times_s[j], false);
			falls[i][j] = side_at(points, times_s[i], times_s[j], true);
		}
	}
	for (int i = 0; i < GRID; i++) {
		for (int j = i; j < GRID; j++) {
			if (!round)
				consider(&ramps[i][i], &falls[j][j], fixed, best);
			for (int k = j; round && k < GRID; k++)
				consider(&ramps[i][j], &falls[j][k], fixed, best);
		}
	}
}

/* Moves some of the bends by a step. */
static bool try_step(
	const struct side_points *points, bool round, int which, double step_s, struct sides *best)
{
	double from_s = best->ramp.from_s, top_s = best->fall.from_s, to_s = best->fall.to_s;
	from_s += which & 1 ? step_s : 0;
	top_s += which & 2 ? step_s : 0;
	to_s += which & 4 ? step_s : 0;
	if (from_s > top_s || (round && top_s > to_s))
		return false;
	struct side ramp = side_at(points, from_s, round ? top_s : from_s, false);
	struct side fall = side_at(points, top_s, round ? to_s : top_s, true);
	return consider(&ramp, &fall, points->fixed_count, best);
}

/* What an outline leaves of the loads. */
static void leave(const struct side_points *points, const struct top_outline *outline, double *left)
{
	const double *bend = outline->bend;
	size_t n = points->count;
	for (size_t i = 0; i < n; i++) {
		double time_s = points->time_s[i];
		left[i] = points->mean[i] +
			  outline->ramp * side_lost(bend[0], bend[1], false, time_s) +
			  outline->fall * side_lost(bend[2], bend[3], true, time_s);
	}
	for (size_t k = 0; k < points->fixed_count; k++) {
		double share = side_dot(left, points->fixed[k], n);
		for (size_t i = 0; i < n; i++)
			left[i] -= share * points->fixed[k][i];
	}
}

/* The outline of the sides that were found, to the last digits. */
static struct top_outline outline_of(const struct side_points *points, const struct sides *found)
{
	const struct side *up = &found->ramp, *down = &found->fall;
	struct top_outline outline = {
		{up->from_s, up->to_s, down->from_s, down->to_s}, .square = INFINITY};
	struct side ramp = side_plain(points, up->from_s, up->to_s, false);
	struct side fall = side_plain(points, down->from_s, down->to_s, true);
	double rates[2], size, left[SIDE_POINTS_MAX];
	if (!rates_of(&ramp, &fall, points->fixed_count, rates, &size))
		return outline;
	outline.ramp = rates[0] / size;
	outline.fall = rates[1] / size;
	leave(points, &outline, left);
	outline.square = side_dot(left, left, points->count) / (double)points->count;
	return outline;
}

static struct top_outline search(const struct side_points *points, bool round)
{
	struct sides best = {.explained = 0};
	try_grid(points, round, &best);
	double step_s = (points->time_s[points->count - 1] - points->time_s[0]) / (GRID - 1);
	for (int halving = 0; halving < HALVINGS && best.explained > 0; halving++) {
		step_s /= 2;
		bool moved = true;
		for (int turn = 0; turn < 4 && moved; turn++) {
			moved = false;
			for (int which = 1; which < (round ? 8 : 4); which++) {
				moved |= try_step(points, round, which, step_s, &best);
				moved |= try_step(points, round, which, -step_s, &best);
			}
		}
	}
	return outline_of(points, &best);
}

static void search_both(struct side_points *points, double kink_s, struct top_shape *shape)
{
	side_fix(points, shape->hz, kink_s);
	shape->cornered = search(points, false);
	shape->rounded = search(points, true);
}

const struct top_outline *top_better(const struct top_shape *shape)
{
	return shape->rounded.square < shape->cornered.square ? &shape->rounded : &shape->cornered;
}

/* A swing at another frequency, if the outlines fit clearly better with it: the one that explains
 * most of what they leave. */
static void try_swing(
	struct side_points *points, const struct policy *policy, struct top_shape *shape)
{
	struct swing_points left = {.count = points->count, .size = points->size};
	memcpy(left.time_s, points->time_s, points->count * sizeof left.time_s[0]);
	side_fix(points, 0, points->time_s[0]);
	leave(points, top_better(shape), left.load);
	double share;
	struct top_shape other = {.hz = swing_strongest(&left, policy, &share)};
	search_both(points, points->time_s[0], &other);
	if (top_better(&other)->square * policy->swing_clear < top_better(shape)->square)
		*shape = other;
}

/* What the sides explain of the squares where the ramp has a kink, it included. ramp_lost: at each
 * point, for a rate of 1. The fixed parts are those without a kink. */
static double explained_with(const struct side_points *points, const struct sides *found,
	const double *ramp_lost, double kink_s)
{
	struct side ramp = found->ramp, fall = found->fall;
	double kink[SIDE_POINTS_MAX];
	size_t count = points->fixed_count, n = 0;
	for (; n < points->count && points->time_s[n] < kink_s; n++)
		kink[n] = kink_s - points->time_s[n];
	double whole = side_dot(kink, kink, n), rest = whole;
	double of_ramp = -side_dot(kink, ramp_lost, n), of_fall = 0;
	for (size_t k = 0; k < count; k++) {
		double share = side_dot(kink, points->fixed[k], n);
		rest -= share * share;
		of_ramp -= share * ramp.fixed[k];
		of_fall -= share * fall.fixed[k];
	}
	if (rest <= 1e-6 * whole)
		return 0;
	double length = sqrt(rest), load = side_dot(kink, points->load, n) / length;
	ramp.fixed[count] = of_ramp / length;
	fall.fixed[count] = of_fall / length;
	ramp.square -= ramp.fixed[count] * ramp.fixed[count];
	fall.square -= fall.fixed[count] * fall.fixed[count];
	ramp.load -= load * ramp.fixed[count];
	fall.load -= load * fall.fixed[count];
	struct sides sides = {.explained = 0};
	return consider(&ramp, &fall, count + 1, &sides) ? load * load + sides.explained : 0;
}

/* Where a kink in the ramp of this outline leaves least. */
static double best_kink(struct side_points *points, double hz, const struct top_outline *outline)
{
	const double *bend = outline->bend;
	double most = 0, best_s = points->time_s[0], ramp_lost[SIDE_POINTS_MAX];
	side_fix(points, hz, points->time_s[0]);
	for (size_t i = 0; i < points->count; i++)
		ramp_lost[i] = side_lost(bend[0], bend[1], false, points->time_s[i]);
	struct sides found = {side_plain(points, bend[0], bend[1], false),
		side_plain(points, bend[2], bend[3], true), 0};
	for (int i = KINKS - 1; i > 0; i--) {
		double kink_s = points->time_s[0] * i / KINKS;
		if (kink_s > bend[1])
			break;
		double explained = explained_with(points, &found, ramp_lost, kink_s);
		if (explained <= most)
			continue;
		most = explained;
		best_s = kink_s;
	}
	return best_s;
}

/* A kink in the ramp, if the outlines fit clearly better with it. */
static void try_kink(
	struct side_points *points, const struct policy *policy, struct top_shape *shape)
{
	double surely = exp(2 * policy->kink_surely / (double)points->count);
	struct top_shape kinked = {.hz = shape->hz};
	search_both(points, best_kink(points, shape->hz, top_better(shape)), &kinked);
	search_both(points, best_kink(points, shape->hz, top_better(&kinked)), &kinked);
	if (top_better(&kinked)->square * fmax(policy->kink_clear, surely) <
		top_better(shape)->square)
		*shape = kinked;
}

bool top_fit(const struct track *track, const struct top_span *span, double hz,
	const struct policy *policy, struct top_shape *shape)
{
	struct side_points points;
	gather(&points, track, span);
	if (points.count < TOP_POINTS_MIN)
		return false;
	shape->hz = hz;
	search_both(&points, points.time_s[0], shape);
	if (isinf(shape->cornered.square) || isinf(shape->rounded.square))
		return false;
	try_swing(&points, policy, shape);
	try_kink(&points, policy, shape);
	shape->count = points.count;
	return true;
}
