/* SPDX-License-Identifier: MIT
 *
 * Exact sums. With n points, times t and loads y, the slope is
 *   (n sum(ty) - sum(t) sum(y)) / (n sum(tt) - sum(t)^2),
 * numerator and denominator formed in integers and divided once. Largest product at the bounds of
 * slope.h: n^2 t y = 3.6e9 x 1e13 x 1e14 = 3.6e36, below 2^127 = 1.7e38; n^2 y y = 3.6e37. The sum
 * of the loads, n y = 6e18, is below 2^63 = 9.2e18.
 */
#include "judge/slope.h"

#include <math.h>

void slope_init(struct slope *slope)
{
	*slope = (struct slope){0};
}

/* Moves the origin by whole nanoseconds; an identity between integers. */
static void move_origin(struct slope *slope, int64_t origin_ns)
{
	wide by = (wide)origin_ns - slope->origin_ns;
	slope->tt += slope->count * by * by - 2 * by * slope->t;
	slope->ty -= by * slope->y;
	slope->t -= slope->count * (int64_t)by;
	slope->origin_ns = origin_ns;
}

void slope_settle(struct slope *slope, struct slope_point point)
{
	if (slope->count == 0) {
		slope_init(slope);
		slope->origin_ns = point.time_ns;
	} else {
		move_origin(slope, slope->origin_ns + slope->t / slope->count);
	}
}

__extension__ typedef unsigned __int128 unsigned_wide;

/* n sum(ab) - sum(a) sum(b). By multiplying without signs, which gives the same bits for less. */
static inline wide spread(int64_t count, wide ab, int64_t a, int64_t b)
{
	return (wide)((unsigned_wide)ab * (uint64_t)count) - (wide)a * b;
}

/* What rates are made of; false where there is no rate. */
static inline bool products(const struct slope *slope, double *tt, double *ty)
{
	if (slope->count < 3)
		return false;
	wide times = spread(slope->count, slope->tt, slope->t, slope->t);
	*tt = wide_to_double(times);
	*ty = wide_to_double(spread(slope->count, slope->ty, slope->t, slope->y));
	return times > 0;
}

bool slope_fit(const struct slope *slope, struct slope_fit *fit)
{
	double tt, ty;
	if (!products(slope, &tt, &ty))
		return false;
	double yy = wide_to_double(spread(slope->count, slope->yy, slope->y, slope->y));
	double count = (double)slope->count;
	/* residual sum of squares x n, in uN^2; below zero only by rounding */
	double residual = yy - ty * (ty / tt);
	double variance = residual > 0 ? residual / count / (count - 2) : 0;
	fit->rate_n_s = ty / tt * 1e3; /* uN/ns = 1e3 N/s */
	fit->residual_n = sqrt(variance) * 1e-6;
	fit->time_spread_s = sqrt(tt / count) * 1e-9;
	fit->error_n_s = fit->residual_n / fit->time_spread_s;
	return true;
}

bool slope_rate(const struct slope *slope, double *rate_n_s)
{
	double tt, ty;
	if (!products(slope, &tt, &ty))
		return false;
	*rate_n_s = ty / tt * 1e3;
	return true;
}
