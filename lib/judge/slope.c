/* SPDX-License-Identifier: MIT
 *
 * Exact sums. With n points, times t and loads y, the slope is
 *   (n sum(ty) - sum(t) sum(y)) / (n sum(tt) - sum(t)^2),
 * numerator and denominator formed in integers and divided once. Largest product at the bounds of
 * slope.h: n^2 t y = 3.6e9 x 1e13 x 1e14 = 3.6e36, below 2^127 = 1.7e38; n^2 y y = 3.6e37.
 */
#include "judge/slope.h"

#include "base/units.h"

#include <assert.h>
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
	slope->t -= slope->count * by;
	slope->origin_ns = origin_ns;
}

void slope_add(struct slope *slope, struct slope_point point)
{
	assert(slope->count < SLOPE_POINTS_MAX);
	assert(point.load_un <= UNITS_LOAD_UN_MAX && point.load_un >= -UNITS_LOAD_UN_MAX);
	if (slope->count == 0) {
		slope_init(slope);
		slope->origin_ns = point.time_ns;
	}
	if (point.time_ns - slope->origin_ns > SLOPE_SPAN_NS_MAX / 2)
		move_origin(slope, slope->origin_ns + (int64_t)(slope->t / slope->count));
	wide t = point.time_ns - slope->origin_ns;
	wide y = point.load_un;
	assert(t <= SLOPE_SPAN_NS_MAX);
	slope->count++;
	slope->t += t;
	slope->y += y;
	slope->tt += t * t;
	slope->ty += t * y;
	slope->yy += y * y;
}

void slope_remove(struct slope *slope, struct slope_point point)
{
	assert(slope->count > 0);
	wide t = point.time_ns - slope->origin_ns;
	wide y = point.load_un;
	slope->count--;
	slope->t -= t;
	slope->y -= y;
	slope->tt -= t * t;
	slope->ty -= t * y;
	slope->yy -= y * y;
}

bool slope_fit(const struct slope *slope, struct slope_fit *fit)
{
	if (slope->count < 3)
		return false;
	wide n = slope->count;
	wide tt = n * slope->tt - slope->t * slope->t;
	if (tt <= 0)
		return false;
	double ty = (double)(n * slope->ty - slope->t * slope->y);
	double yy = (double)(n * slope->yy - slope->y * slope->y);
	double count = (double)slope->count;
	/* residual sum of squares x n, in uN^2; below zero only by rounding */
	double residual = yy - ty * (ty / (double)tt);
	double variance = residual > 0 ? residual / count / (count - 2) : 0;
	fit->rate_n_s = ty / (double)tt * 1e3; /* uN/ns = 1e3 N/s */
	fit->residual_n = sqrt(variance) * 1e-6;
	fit->time_spread_s = sqrt((double)tt / count) * 1e-9;
	fit->error_n_s = fit->residual_n / fit->time_spread_s;
	fit->middle_load_n = (double)slope->y / count * 1e-6;
	fit->middle_ns = slope->origin_ns + (int64_t)(slope->t / n);
	return true;
}
