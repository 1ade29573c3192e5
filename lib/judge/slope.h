/* SPDX-License-Identifier: MIT
 *
 * Least-squares line through load against time, with points added and removed in O(1) and nothing
 * lost over hours: times and loads are integers, and so are all sums (128 bits), so that the
 * result depends on the points in the window alone, never on the history. Slope and standard
 * error: ordinary least squares, e.g. NIST/SEMATECH e-Handbook of Statistical Methods, 4.1.4.1.
 *
 * Bounds that keep the sums exact: at most SLOPE_POINTS_MAX points, |load| <= UNITS_LOAD_UN_MAX,
 * times within SLOPE_SPAN_NS_MAX of the origin (the origin follows by itself).
 */
#ifndef JUDGE_SLOPE_H
#define JUDGE_SLOPE_H

#include "base/units.h"
#include "base/wide.h"

#include <assert.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { SLOPE_POINTS_MAX = 60000 };
#define SLOPE_SPAN_NS_MAX INT64_C(10000000000000)

struct slope_point {
	int64_t time_ns;
	int64_t load_un;
};

struct slope {
	int64_t origin_ns;
	int64_t count;
	int64_t t, y;    /* sums over the points, times counted from the origin ... */
	wide tt, ty, yy; /* ... and of the products */
};

struct slope_fit {
	double rate_n_s;      /* slope in N/s */
	double error_n_s;     /* its standard error from the residuals, as if they were white */
	double residual_n;    /* residual standard deviation, n - 2 degrees of freedom */
	double time_spread_s; /* sqrt(sum of squared distances from the mean time), in s */
};

void slope_init(struct slope *slope);
/* Begins at the point, or moves the origin towards it; slope_add calls it where need be. */
void slope_settle(struct slope *slope, struct slope_point point);

/* Adds points in the order of their times. Inline, as is the next, with the sums in registers:
 * every sample passes through them four times and more. */
static inline void slope_add_all(
	struct slope *slope, const struct slope_point *points, size_t count)
{
	if (count == 0)
		return;
	int64_t last_ns = points[count - 1].time_ns;
	if (slope->count == 0 || last_ns - slope->origin_ns > SLOPE_SPAN_NS_MAX / 2)
		slope_settle(slope, points[0]);
	struct slope sums = *slope;
	assert(last_ns - sums.origin_ns <= SLOPE_SPAN_NS_MAX);
	assert(sums.count + (int64_t)count <= SLOPE_POINTS_MAX);
	for (const struct slope_point *point = points; point < points + count; point++) {
		int64_t t = point->time_ns - sums.origin_ns, y = point->load_un;
		assert(y <= UNITS_LOAD_UN_MAX && y >= -UNITS_LOAD_UN_MAX);
		sums.t += t;
		sums.y += y;
		sums.tt += (wide)t * t;
		sums.ty += (wide)t * y;
		sums.yy += (wide)y * y;
	}
	sums.count += (int64_t)count;
	*slope = sums;
}

/* The points must have been added before. */
static inline void slope_remove_all(
	struct slope *slope, const struct slope_point *points, size_t count)
{
	struct slope sums = *slope;
	assert(sums.count >= (int64_t)count);
	for (const struct slope_point *point = points; point < points + count; point++) {
		int64_t t = point->time_ns - sums.origin_ns, y = point->load_un;
		sums.t -= t;
		sums.y -= y;
		sums.tt -= (wide)t * t;
		sums.ty -= (wide)t * y;
		sums.yy -= (wide)y * y;
	}
	sums.count -= (int64_t)count;
	*slope = sums;
}

static inline void slope_add(struct slope *slope, struct slope_point point)
{
	slope_add_all(slope, &point, 1);
}

static inline void slope_remove(struct slope *slope, struct slope_point point)
{
	slope_remove_all(slope, &point, 1);
}

/* False with fewer than three points or all at one time: there is no rate (not a rate of zero). */
bool slope_fit(const struct slope *slope, struct slope_fit *fit);

/* The means of what is in it: of times and, in N, of loads. */
static inline int64_t slope_middle_ns(const struct slope *slope)
{
	return slope->origin_ns + slope->t / slope->count;
}

static inline double slope_middle_n(const struct slope *slope)
{
	return (double)slope->y / (double)slope->count * 1e-6;
}

#endif
