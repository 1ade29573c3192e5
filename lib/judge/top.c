/* SPDX-License-Identifier: MIT
 *
 * Least squares over the bends of an outline; see top.h for the outlines. For given bends an
 * outline is linear in the rest. The part of the ramp and that of the fall never overlap, so that
 * what each is worth is summed once and all pairs are tried on a grid; the best one is then moved
 * by steps that are halved.
 */
#include "judge/top.h"

#include "judge/chunk.h"

#include <math.h>
#include <string.h>

enum { POINTS_MAX = 192, GRID = 24, FIXED = 3, HALVINGS = 6 };

/* The samples as means of equal groups, and what is the same in every outline: the level and the
 * two phases of the swing, made orthonormal. */
struct points {
	size_t count;
	double time_s[POINTS_MAX];
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

static void gather(
	struct points *points, const struct track *track, size_t from, size_t top, size_t to)
{
	struct slope_point high = track_at(track, top);
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
		points->load[points->count++] = load_un / (double)size / (double)high.load_un;
	}
}

static void fix(struct points *points, double hz)
{
	size_t n = points->count;
	for (size_t i = 0; i < n; i++) {
		double turn = 2 * M_PI * hz * points->time_s[i];
		points->fixed[0][i] = 1;
		points->fixed[1][i] = hz > 0 ? sin(turn) : 0;
		points->fixed[2][i] = hz > 0 ? cos(turn) : 0;
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

bool top_fit(const struct track *track, size_t from, size_t top, size_t to, double hz,
	struct top_shape *shape)
{
	struct points points;
	gather(&points, track, from, top, to);
	if (points.count < TOP_POINTS_MIN)
		return false;
	fix(&points, hz);
	search(&points, false, &shape->cornered);
	search(&points, true, &shape->rounded);
	return !isinf(shape->cornered.square) && !isinf(shape->rounded.square);
}
