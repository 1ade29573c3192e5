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
/* Begins at the point, or moves the origin towards it; slope_slide calls it where need be. */
void slope_settle(struct slope *slope, struct slope_point point);

/* One point goes as one comes, which costs less than the two apart: a^2 - b^2 = (a + b)(a - b). */
static inline void slope_exchange(struct slope *sums, struct slope_point out, struct slope_point in)
{
	int64_t t = in.time_ns - sums->origin_ns, y = in.load_un;
	int64_t gone_t = out.time_ns - sums->origin_ns, gone_y = out.load_un;
	assert(y <= UNITS_LOAD_UN_MAX && y >= -UNITS_LOAD_UN_MAX);
	sums->t += t - gone_t;
	sums->y += y - gone_y;
	sums->tt += (wide)(t - gone_t) * (t + gone_t);
	sums->ty += (wide)t * y - (wide)gone_t * gone_y;
	sums->yy += (wide)(y - gone_y) * (y + gone_y);
}

/* The oldest point out and a new one in, where that is all there is to do; false, and nothing done,
 * where it is for slope_slide to do. */
static inline bool slope_swap(struct slope *slope, struct slope_point out, struct slope_point in)
{
	if (slope->count < 2 || in.time_ns - slope->origin_ns > SLOPE_SPAN_NS_MAX / 2)
		return false;
	slope_exchange(slope, out, in);
	return true;
}

/* Takes the oldest points out (they must have been added before) and new ones in, in the order of
 * their times. Inline and with the sums in registers: every sample passes through here twice and
 * more. */
static inline void slope_slide(struct slope *slope, const struct slope_point *out, size_t out_count,
	const struct slope_point *in, size_t in_count)
{
	if (out_count == (size_t)slope->count)
		slope->count = 0;
	if (in_count > 0 && (slope->count == 0 || in[in_count - 1].time_ns - slope->origin_ns >
							  SLOPE_SPAN_NS_MAX / 2))
		slope_settle(slope, in[0]);
	if (slope->count == 0)
		out_count = 0;
	struct slope sums = *slope;
	sums.count += (int64_t)in_count - (int64_t)out_count;
	assert(sums.count >= 0 && sums.count <= SLOPE_POINTS_MAX);
	size_t both = in_count < out_count ? in_count : out_count, i = 0;
	for (; i < both; i++)
		slope_exchange(&sums, out[i], in[i]);
	for (size_t k = i; k < in_count; k++) {
		int64_t t = in[k].time_ns - sums.origin_ns, y = in[k].load_un;
		assert(y <= UNITS_LOAD_UN_MAX && y >= -UNITS_LOAD_UN_MAX);
		sums.t += t;
		sums.y += y;
		sums.tt += (wide)t * t;
		sums.ty += (wide)t * y;
		sums.yy += (wide)y * y;
	}
	for (size_t k = i; k < out_count; k++) {
		int64_t t = out[k].time_ns - sums.origin_ns, y = out[k].load_un;
		sums.t -= t;
		sums.y -= y;
		sums.tt -= (wide)t * t;
		sums.ty -= (wide)t * y;
		sums.yy -= (wide)y * y;
	}
	assert(in_count == 0 || in[in_count - 1].time_ns - sums.origin_ns <= SLOPE_SPAN_NS_MAX);
	*slope = sums;
}

static inline void slope_add(struct slope *slope, struct slope_point point)
{
	slope_slide(slope, NULL, 0, &point, 1);
}

/* The point must have been added before. */
static inline void slope_remove(struct slope *slope, struct slope_point point)
{
	slope_slide(slope, &point, 1, NULL, 0);
}

/* False with fewer than three points or all at one time: there is no rate (not a rate of zero). */
bool slope_fit(const struct slope *slope, struct slope_fit *fit);

/* The rate_n_s of slope_fit, for half the cost. */
bool slope_rate(const struct slope *slope, double *rate_n_s);

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
