/* SPDX-License-Identifier: MIT */
#include "draw/plot.h"

#include <assert.h>
#include <math.h>

/* What a cell reads below zero, within this share of the range, is noise: it gets no tick of its
 * own and the drawing cuts it off. */
static const double noise_share = 0.02;

void plot_fit(struct plot *plot, size_t x_ticks, size_t y_ticks)
{
	double x_low = 0, x_high = 1, y_low = 0, y_high = 0;
	if (plot->count > 0) {
		x_low = plot->points[0].x;
		x_high = plot->points[plot->count - 1].x;
	}
	for (size_t i = 0; i < plot->count; i++) {
		/* fmin and fmax leave out what is not a number. */
		y_low = fmin(y_low, plot->points[i].y);
		y_high = fmax(y_high, plot->points[i].y);
	}
	if (y_low > -noise_share * y_high)
		y_low = 0;
	axis_fit_tight(&plot->x, x_low, x_high, x_ticks);
	axis_fit(&plot->y, y_low, y_high, y_ticks);
}

static size_t column_of(const struct plot *plot, size_t count, double x)
{
	double position = axis_fraction(&plot->x, x) * (double)count;
	if (!(position > 0))
		return 0;
	return position < (double)count ? (size_t)position : count - 1;
}

static void extend(double *low, double *high, double y)
{
	*low = fmin(*low, y);
	*high = fmax(*high, y);
}

/* The line from p to q crosses the borders of the columns between them. */
static void cross_columns(const struct plot *plot, size_t count, struct plot_point p,
	struct plot_point q, double *low, double *high)
{
	double width = (plot->x.high - plot->x.low) / (double)count;
	size_t last = column_of(plot, count, q.x);
	for (size_t i = column_of(plot, count, p.x); i < last; i++) {
		double border = plot->x.low + width * (double)(i + 1);
		double y = p.y + (q.y - p.y) * (border - p.x) / (q.x - p.x);
		extend(&low[i], &high[i], y);
		extend(&low[i + 1], &high[i + 1], y);
	}
}

void plot_columns(const struct plot *plot, size_t count, double *low, double *high)
{
	assert(count > 0);
	for (size_t i = 0; i < count; i++) {
		low[i] = INFINITY;
		high[i] = -INFINITY;
	}
	for (size_t i = 0; i < plot->count; i++) {
		struct plot_point q = plot->points[i];
		if (isnan(q.y) || q.x < plot->x.low || q.x > plot->x.high)
			continue;
		size_t column = column_of(plot, count, q.x);
		extend(&low[column], &high[column], q.y);
		if (i == 0 || isnan(plot->points[i - 1].y) || plot->points[i - 1].x < plot->x.low)
			continue;
		cross_columns(plot, count, plot->points[i - 1], q, low, high);
	}
}
