/* SPDX-License-Identifier: MIT
 *
 * A drawing before it is drawn: one quantity over time, its axes, the permitted band and the judged
 * span. The renderers (text_plot.h) only place marks; what is shown, and on which scale, is decided
 * here once.
 */
#ifndef DRAW_PLOT_H
#define DRAW_PLOT_H

#include "draw/axis.h"

#include <stdbool.h>
#include <stddef.h>

/* A point whose y is not a number breaks the line: nothing is known there. */
struct plot_point {
	double x, y;
};

struct plot {
	const char *title;               /* "load, kN"; not owned */
	const char *unit_x;              /* "s"; not owned */
	const struct plot_point *points; /* not owned; x never decreases */
	size_t count;
	struct axis x, y;
	bool has_band;
	double band_low, band_high; /* on the y axis */
	bool has_span;
	double span_from, span_to; /* on the x axis */
};

/* Sets both axes from the points, with at most the given numbers of ticks; y from zero, or from
 * below it where more than noise lies there. */
void plot_fit(struct plot *plot, size_t x_ticks, size_t y_ticks);

/* The range of y that the line passes through within each of count columns of equal width, low[i] >
 * high[i] where it passes through none. This is all that a raster of columns can show, at a cost of
 * one pass over the points, and no peak is ever lost between two columns. */
void plot_columns(const struct plot *plot, size_t count, double *low, double *high);

#endif
