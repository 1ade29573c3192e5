/* SPDX-License-Identifier: MIT
 *
 * Fixed parts by Gram and Schmidt, running sums, and what is read from them; see side.h.
 */
#include "judge/side.h"

#include "base/turn.h"

#include <assert.h>
#include <math.h>
#include <string.h>

static_assert((int)SIDE_POINTS_MAX <= 255, "counts of points fit a bucket");

/* Fewer points within a bend are looped over: where it is narrow, differences of fourth powers say
 * little of them. */
enum { BEND_POINTS = 12 };
/* A bend that is narrower than this part of all times is a corner. */
static const double corner = 1e-9;

double side_dot(const double *a, const double *b, size_t count)
{
	double sum = 0;
	for (size_t i = 0; i < count; i++)
		sum += a[i] * b[i];
	return sum;
}

/* One more fixed part, if it is not made of the others. */
static void add_fixed(struct side_points *points)
{
	size_t n = points->count;
	double *part = points->fixed[points->fixed_count];
	double whole = side_dot(part, part, n);
	for (size_t j = 0; j < points->fixed_count; j++) {
		double share = side_dot(part, points->fixed[j], n);
		for (size_t i = 0; i < n; i++)
			part[i] -= share * points->fixed[j][i];
	}
	double length = sqrt(side_dot(part, part, n));
	if (length <= 1e-3 * sqrt(whole))
		return;
	for (size_t i = 0; i < n; i++)
		part[i] /= length;
	double share = side_dot(part, points->load, n);
	for (size_t i = 0; i < n; i++)
		points->load[i] -= share * part[i];
	points->fixed_count++;
}

/* From the powers of the times to a point to those of the times to a later one. */
static void move_own(double own[5], double by_s)
{
	double d = by_s;
	own[4] += d * (4 * own[3] + d * (6 * own[2] + d * (4 * own[1] + d * own[0])));
	own[3] += d * (3 * own[2] + d * (3 * own[1] + d * own[0]));
	own[2] += d * (2 * own[1] + d * own[0]);
	own[1] += d * own[0];
}

static double second(const double *sums, double by_s)
{
	return sums[2] + by_s * (2 * sums[1] + by_s * sums[0]);
}

static double first(const double *sums, double by_s)
{
	return sums[1] + by_s * sums[0];
}

static void move_sums(struct side_sums *sums, double by_s)
{
	move_own(sums->own, by_s);
	for (size_t k = 0; k < SIDE_FIXED + 1; k++) {
		sums->with[k][2] = second(sums->with[k], by_s);
		sums->with[k][1] = first(sums->with[k], by_s);
	}
}

static size_t bucket_of(const struct side_line *line, double time_s)
{
	double bucket = (time_s - line->time_s[0]) * line->buckets_per_s;
	return bucket <= 0 ? 0 : bucket < SIDE_BUCKETS - 1 ? (size_t)bucket : SIDE_BUCKETS - 1;
}

static void sum_up(const struct side_points *points, struct side_line *line, bool down)
{
	struct side_sums sums = {0};
	size_t n = points->count, bucket = 0;
	double first_s = down ? -points->time_s[n - 1] : points->time_s[0], last_s = first_s;
	line->buckets_per_s = SIDE_BUCKETS / (points->time_s[n - 1] - points->time_s[0]);
	for (size_t i = 0; i < n; i++) {
		size_t at = down ? n - 1 - i : i;
		line->time_s[i] = down ? -points->time_s[at] : points->time_s[at];
		move_sums(&sums, line->time_s[i] - last_s);
		last_s = line->time_s[i];
		sums.own[0]++;
		for (size_t k = 0; k < points->fixed_count; k++)
			sums.with[k][0] += points->fixed[k][at];
		sums.with[points->fixed_count][0] += points->load[at];
		line->sums[i] = sums;
		for (size_t end = bucket_of(line, last_s); bucket <= end; bucket++)
			line->before[bucket] = (unsigned char)i;
	}
	assert(bucket == SIDE_BUCKETS);
}

void side_fix(struct side_points *points, double hz, double kink_s)
{
	size_t n = points->count;
	memcpy(points->load, points->mean, n * sizeof points->load[0]);
	points->fixed_count = 0;
	for (size_t i = 0; i < n; i++)
		points->fixed[0][i] = 1;
	add_fixed(points);
	for (int phase = 0; hz > 0 && phase < 2; phase++) {
		for (size_t i = 0; i < n; i++)
			points->fixed[points->fixed_count][i] =
				turn_wave(hz * points->time_s[i] + phase * 0.25).sine;
		add_fixed(points);
	}
	if (kink_s > points->time_s[0]) {
		for (size_t i = 0; i < n; i++)
			points->fixed[points->fixed_count][i] = fmax(kink_s - points->time_s[i], 0);
		add_fixed(points);
	}
	points->squares = side_dot(points->load, points->load, n);
	sum_up(points, &points->up, false);
	sum_up(points, &points->down, true);
}

/* How many points lie before a time. */
static size_t count_before(const struct side_line *line, size_t count, double time_s)
{
	size_t i = line->before[bucket_of(line, time_s)];
	while (i < count && line->time_s[i] < time_s)
		i++;
	return i;
}

/* The bend is a corner: what it has lost is the time to it. */
static void sum_corner(
	const struct side_sums *sums, double by_s, size_t fixed_count, struct side *side)
{
	for (size_t k = 0; k < fixed_count; k++)
		side->fixed[k] = -first(sums->with[k], by_s);
	side->load = -first(sums->with[fixed_count], by_s);
	side->square = second(sums->own, by_s);
}

/* What the points up to the end of a bend have lost, squared. past: sums up to its beginning. */
static double square_of_bend(const struct side_line *line, const double past[5], size_t begin,
	size_t end, double end_s, double width_s)
{
	double sum = 0;
	if (end - begin > BEND_POINTS) {
		double own[5];
		memcpy(own, line->sums[end - 1].own, sizeof own);
		move_own(own, end_s - line->time_s[end - 1]);
		return (own[4] - past[4]) / (4 * width_s * width_s) - past[3] / width_s -
		       past[2] / 2;
	}
	for (size_t i = begin; i < end; i++) {
		double square = (end_s - line->time_s[i]) * (end_s - line->time_s[i]);
		sum += square * square;
	}
	return second(past, width_s / 2) + sum / (4 * width_s * width_s);
}

/* end: that many points lie before the end of the bend. */
static void sum_bend(const struct side_points *points, const struct side_line *line, double begin_s,
	double end_s, size_t end, struct side *side)
{
	static const struct side_sums none;
	size_t begin = count_before(line, points->count, begin_s);
	const struct side_sums *past = begin > 0 ? &line->sums[begin - 1] : &none;
	const struct side_sums *all = &line->sums[end - 1];
	double past_by_s = begin > 0 ? begin_s - line->time_s[begin - 1] : 0;
	double all_by_s = end_s - line->time_s[end - 1], width_s = end_s - begin_s;
	double own[5], scale = 1 / (2 * width_s);
	for (size_t k = 0; k < points->fixed_count; k++)
		side->fixed[k] =
			scale * (second(past->with[k], past_by_s) - second(all->with[k], all_by_s));
	side->load = scale * (second(past->with[points->fixed_count], past_by_s) -
				     second(all->with[points->fixed_count], all_by_s));
	memcpy(own, past->own, sizeof own);
	move_own(own, past_by_s);
	side->square = square_of_bend(line, own, begin, end, end_s, width_s);
}

struct side side_at(const struct side_points *points, double from_s, double to_s, bool fall)
{
	struct side side = {.from_s = from_s, .to_s = to_s};
	const struct side_line *line = fall ? &points->down : &points->up;
	double end_s = fall ? -from_s : to_s, begin_s = fall ? -to_s : from_s;
	size_t end = count_before(line, points->count, end_s);
	if (end == 0)
		return side;
	if ((end_s - begin_s) * line->buckets_per_s < corner * SIDE_BUCKETS)
		sum_corner(&line->sums[end - 1], end_s - line->time_s[end - 1], points->fixed_count,
			&side);
	else
		sum_bend(points, line, begin_s, end_s, end, &side);
	side.square -= side_dot(side.fixed, side.fixed, points->fixed_count);
	return side;
}

double side_lost(double from_s, double to_s, bool fall, double time_s)
{
	double since_s = fall ? time_s - from_s : to_s - time_s, width_s = to_s - from_s;
	if (since_s <= 0)
		return 0;
	return since_s >= width_s ? since_s - width_s / 2 : since_s * since_s / (2 * width_s);
}

struct side side_plain(const struct side_points *points, double from_s, double to_s, bool fall)
{
	struct side side = {.from_s = from_s, .to_s = to_s};
	for (size_t i = 0; i < points->count; i++) {
		double lost = side_lost(from_s, to_s, fall, points->time_s[i]);
		for (size_t k = 0; k < points->fixed_count; k++)
			side.fixed[k] -= lost * points->fixed[k][i];
		side.square += lost * lost;
		side.load -= lost * points->load[i];
	}
	side.square -= side_dot(side.fixed, side.fixed, points->fixed_count);
	return side;
}
