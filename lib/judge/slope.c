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

bool slope_fit(const struct slope *slope, struct slope_fit *fit)
{
	if (slope->count < 3)
		return false;
	int64_t n = slope->count;
	wide spread = n * slope->tt - (wide)slope->t * slope->t;
	if (spread <= 0)
		return false;
	double tt = wide_to_double(spread);
	double ty = wide_to_double(n * slope->ty - (wide)slope->t * slope->y);
	double yy = wide_to_double(n * slope->yy - (wide)slope->y * slope->y);
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
