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
#include "judge/swing.h"

#include <assert.h>
#include <math.h>
#include <string.h>

enum { POINTS_MAX = 192, GRID = 24, FIXED = 4, HALVINGS = 6, KINKS = 24 };
static_assert((int)POINTS_MAX <= (int)SWING_POINTS_MAX, "what is left is looked at whole");

/* The samples as means of equal groups, and what is the same in every outline: the level, the two
 * phases of the swing and a kink in the ramp, made orthonormal. */
struct points {
	size_t count;
	size_t size; /* samples in a group */
	double time_s[POINTS_MAX];
	double mean[POINTS_MAX];
	double load[POINTS_MAX]; /* what the fixed parts leave of it */
	double fixed[FIXED][POINTS_MAX];
	double squares; /* of load */
};

/* The ramp's part of an outline or the fall's, for a rate of 1. */
struct side {
	double from_s, to_s; /* it bends between these */
	double fixed[FIXED]; /* how much of it the fixed parts are */
	double square, load; /* of the rest: itself, and with the load */
};

static double dot(const double *a, const double *b, size_t count)
{
	double sum = 0;
	for (size_t i = 0; i < count; i++)
		sum += a[i] * b[i];
	return sum;
}

static void gather(struct points *points, const struct track *track, const struct top_span *span)
{
	struct slope_point high = track_at(track, span->top);
	size_t from = span->from, to = span->to;
	double pace_ns = chunk_pace(track, to);
	size_t size = (to - from) / POINTS_MAX + 1;
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

/* kink_s: before this the ramp has another rate; not before the first sample: it has not. */
static void fix(struct points *points, double hz, double kink_s)
{
	size_t n = points->count;
	memcpy(points->load, points->mean, n * sizeof points->load[0]);
	for (size_t i = 0; i < n; i++) {
		double turn = 2 * M_PI * hz * points->time_s[i];
		points->fixed[0][i] = 1;
		points->fixed[1][i] = hz > 0 ? sin(turn) : 0;
		points->fixed[2][i] = hz > 0 ? cos(turn) : 0;
		points->fixed[3][i] = fmax(kink_s - points->time_s[i], 0);
	}
	for (size_t k = 0; k < FIXED; k++) {
		double *part = points->fixed[k];
		double whole = dot(part, part, n);
		for (size_t j = 0; j < k; j++) {
			double share = dot(part, points->fixed[j], n);
			for (size_t i = 0; i < n; i++)
				part[i] -= share * points->fixed[j][i];
		}
		double length = sqrt(dot(part, part, n));
		bool new = length > 1e-3 * sqrt(whole);
		for (size_t i = 0; i < n; i++)
			part[i] = new ? part[i] / length : 0;
		double share = dot(part, points->load, n);
		for (size_t i = 0; i < n; i++)
			points->load[i] -= share * part[i];
	}
	points->squares = dot(points->load, points->load, n);
}

/* How far a rate that bends from 1 to 0 between two times, or back, is off the level it leaves. */
static double bent(double since_s, double width_s)
{
	return since_s >= width_s ? since_s - width_s / 2 : since_s * since_s / (2 * width_s);
}

static struct side side_at(const struct points *points, double from_s, double to_s, bool fall)
{
	struct side side = {.from_s = from_s, .to_s = to_s};
	double width_s = to_s - from_s;
	for (size_t i = 0; i < points->count; i++) {
		double since_s = fall ? points->time_s[i] - from_s : to_s - points->time_s[i];
		if (since_s <= 0)
			continue;
		double lost = bent(since_s, width_s);
		for (size_t k = 0; k < FIXED; k++)
			side.fixed[k] -= lost * points->fixed[k][i];
		side.square += lost * lost;
		side.load -= lost * points->load[i];
	}
	for (size_t k = 0; k < FIXED; k++)
		side.square -= side.fixed[k] * side.fixed[k];
	return side;
}

/* Takes the outline of these two sides if it is the best one so far. */
static bool consider(const struct points *points, const struct side *ramp, const struct side *fall,
	struct top_outline *best)
{
	double both = -dot(ramp->fixed, fall->fixed, FIXED);
	double size = ramp->square * fall->square - both * both;
	if (size <= 1e-9 * ramp->square * fall->square)
		return false;
	double ramp_rate = (fall->square * ramp->load - both * fall->load) / size;
	double fall_rate = (ramp->square * fall->load - both * ramp->load) / size;
	double left = points->squares - ramp_rate * ramp->load - fall_rate * fall->load;
	left = fmax(left, 0) / (double)points->count;
	if (ramp_rate <= 0 || fall_rate <= 0 || left >= best->square)
		return false;
	*best = (struct top_outline){
		{ramp->from_s, ramp->to_s, fall->from_s, fall->to_s}, ramp_rate, fall_rate, left};
	return true;
}

static void try_grid(const struct points *points, bool round, struct top_outline *best)
{
	struct side ramps[GRID][GRID], falls[GRID][GRID];
	double times_s[GRID];
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
				consider(points, &ramps[i][i], &falls[j][j], best);
			for (int k = j; round && k < GRID; k++)
				consider(points, &ramps[i][j], &falls[j][k], best);
		}
	}
}

/* Moves some of the bends by a step. */
static bool try_step(
	const struct points *points, bool round, int which, double step_s, struct top_outline *best)
{
	const double *b = best->bend;
	double at[3] = {b[0], round ? b[1] : b[2], b[3]};
	for (int k = 0; k < 3; k++)
		at[k] += which >> k & 1 ? step_s : 0;
	if (at[0] > at[1] || (round && at[1] > at[2]))
		return false;
	struct side ramp = side_at(points, at[0], round ? at[1] : at[0], false);
	struct side fall = side_at(points, at[1], round ? at[2] : at[1], true);
	return consider(points, &ramp, &fall, best);
}

static void search(const struct points *points, bool round, struct top_outline *best)
{
	*best = (struct top_outline){.square = INFINITY};
	try_grid(points, round, best);
	if (isinf(best->square))
		return;
	double step_s = (points->time_s[points->count - 1] - points->time_s[0]) / (GRID - 1);
	for (int halving = 0; halving < HALVINGS; halving++) {
		step_s /= 2;
		bool moved = true;
		for (int turn = 0; turn < 4 && moved; turn++) {
			moved = false;
			for (int which = 1; which < (round ? 8 : 4); which++) {
				moved |= try_step(points, round, which, step_s, best);
				moved |= try_step(points, round, which, -step_s, best);
			}
		}
	}
}

/* What an outline leaves of the loads. */
static void leave(const struct points *points, const struct top_outline *outline, double *left)
{
	const double *bend = outline->bend;
	size_t n = points->count;
	for (size_t i = 0; i < n; i++) {
		double t = points->time_s[i];
		double risen = fmax(bend[1] - t, 0), fallen = fmax(t - bend[2], 0);
		left[i] = points->mean[i] + outline->ramp * bent(risen, bend[1] - bend[0]) +
			  outline->fall * bent(fallen, bend[3] - bend[2]);
	}
	for (size_t k = 0; k < FIXED; k++) {
		double share = dot(left, points->fixed[k], n);
		for (size_t i = 0; i < n; i++)
			left[i] -= share * points->fixed[k][i];
	}
}

static void search_both(struct points *points, double kink_s, struct top_shape *shape)
{
	fix(points, shape->hz, kink_s);
	search(points, false, &shape->cornered);
	search(points, true, &shape->rounded);
}

const struct top_outline *top_better(const struct top_shape *shape)
{
	return shape->rounded.square < shape->cornered.square ? &shape->rounded : &shape->cornered;
}

/* A swing at another frequency, if the outlines fit clearly better with it: the one that explains
 * most of what they leave. */
static void try_swing(struct points *points, const struct policy *policy, struct top_shape *shape)
{
	struct swing_points left = {.count = points->count, .size = points->size};
	memcpy(left.time_s, points->time_s, points->count * sizeof left.time_s[0]);
	fix(points, 0, points->time_s[0]);
	leave(points, top_better(shape), left.load);
	double share;
	struct top_shape other = {.hz = swing_strongest(&left, policy, &share)};
	search_both(points, points->time_s[0], &other);
	if (top_better(&other)->square * policy->swing_clear < top_better(shape)->square)
		*shape = other;
}

/* Where a kink in the ramp of this outline leaves least. */
static double best_kink(struct points *points, double hz, const struct top_outline *outline)
{
	const double *bend = outline->bend;
	double least = INFINITY, best_s = points->time_s[0];
	for (int i = KINKS - 1; i > 0; i--) {
		double kink_s = points->time_s[0] * i / KINKS;
		if (kink_s > bend[1])
			break;
		fix(points, hz, kink_s);
		struct side ramp = side_at(points, bend[0], bend[1], false);
		struct side fall = side_at(points, bend[2], bend[3], true);
		struct top_outline kinked = {.square = INFINITY};
		if (!consider(points, &ramp, &fall, &kinked) || kinked.square >= least)
			continue;
		least = kinked.square;
		best_s = kink_s;
	}
	return best_s;
}

/* A kink in the ramp, if the outlines fit clearly better with it. */
static void try_kink(struct points *points, const struct policy *policy, struct top_shape *shape)
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
	struct points points;
	gather(&points, track, span);
	if (points.count < TOP_POINTS_MIN)
		return false;
	shape->hz = hz;
	search_both(&points, points.time_s[0], shape);
	if (isinf(shape->cornered.square) || isinf(shape->rounded.square))
		return false;
	try_swing(&points, policy, shape);
	try_kink(&points, policy, shape);
	return true;
}
