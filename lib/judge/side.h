/* SPDX-License-Identifier: MIT
 *
 * The samples about a top as a few hundred points, and what a side of an outline (top.h) is worth
 * against them: its ramp or its fall, for a rate of 1, bending between two times.
 *
 * A search asks that thousands of times. A rate that bends evenly from 1 to 0 between `from` and
 * `to` loses ((to - t)^2 - (from - t)^2) / (2 (to - from)), each square being 0 where its root is
 * negative. So sums of powers of the time to each point, taken up to every point once, answer in
 * O(1). Each is kept about its own point: every term of it has the same sign, and nothing cancels.
 */
#ifndef JUDGE_SIDE_H
#define JUDGE_SIDE_H

#include <stdbool.h>
#include <stddef.h>

enum { SIDE_POINTS_MAX = 192, SIDE_FIXED = 4, SIDE_BUCKETS = 256 };

/* Of all points up to one: their powers 0 to 4 of the time to it, and what the fixed parts and the
 * load have with the powers 0 to 2. */
struct side_sums {
	double own[5];
	double with[SIDE_FIXED + 1][3];
};

/* The points in one direction of time. */
struct side_line {
	double time_s[SIDE_POINTS_MAX]; /* rising */
	struct side_sums sums[SIDE_POINTS_MAX];
	double buckets_per_s;
	unsigned char before[SIDE_BUCKETS]; /* points that lie in earlier buckets */
};

/* The samples as means of equal groups, and what is the same in every outline: the level, the two
 * phases of the swing and a kink in the ramp, made orthonormal. */
struct side_points {
	size_t count;
	size_t size; /* samples in a group */
	double time_s[SIDE_POINTS_MAX];
	double mean[SIDE_POINTS_MAX];
	/* from side_fix */
	size_t fixed_count;
	double fixed[SIDE_FIXED][SIDE_POINTS_MAX];
	double load[SIDE_POINTS_MAX]; /* what the fixed parts leave of it */
	double squares;               /* of load */
	struct side_line up, down;    /* down: times are negative */
};

struct side {
	double from_s, to_s;      /* it bends between these */
	double fixed[SIDE_FIXED]; /* how much of it the fixed parts are */
	double square, load;      /* of the rest: itself, and with the load */
};

/* Sets what is fixed: the level; a swing unless hz is 0; a kink, before which the ramp has another
 * rate, unless it is not after the first point. O(points). */
void side_fix(struct side_points *points, double hz, double kink_s);
/* The ramp or the fall that bends there. O(1). */
struct side side_at(const struct side_points *points, double from_s, double to_s, bool fall);
/* The same by a loop over all points, to the last digits. */
struct side side_plain(const struct side_points *points, double from_s, double to_s, bool fall);
/* What a rate that bends from 1 to 0 between two times, or back, has lost by a time. */
double side_lost(double from_s, double to_s, bool fall, double time_s);
/* The sum of the products. */
double side_dot(const double *a, const double *b, size_t count);

#endif
