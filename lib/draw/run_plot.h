/* SPDX-License-Identifier: MIT
 *
 * The two drawings of a finished run: the load, and the stress rate with the permitted band. Both
 * have the same axis of time, in seconds from the run's origin, and mark the judged span.
 */
#ifndef DRAW_RUN_PLOT_H
#define DRAW_RUN_PLOT_H

#include "draw/plot.h"
#include "measure/sample.h"
#include "result/outcome.h"

enum { RUN_PLOT_TITLE_SIZE = 96 };

/* A plot with what it points to; stays where it was made. */
struct run_plot {
	struct plot plot;
	struct plot_point *points; /* owned */
	char title[RUN_PLOT_TITLE_SIZE];
};

/* The curve as drawn: samples with times from the origin on, and what was judged of them. */
struct run_curve {
	const struct sample *samples;
	size_t count;
	struct mono_time origin;
	const struct outcome *outcome;
};

/* False when memory is short; nothing to finish then. */
bool run_plot_load(struct run_plot *drawing, const struct run_curve *curve);

/* The slope of the judging window around each sample, up to the maximum load. False where there is
 * no rate to draw (no area, no load, no window) or memory is short. */
bool run_plot_rate(struct run_plot *drawing, const struct run_curve *curve);

void run_plot_finish(struct run_plot *drawing);

/* What several runs have in common, so that their curves can be compared. Begins as all 0. */
struct run_plot_scale {
	double time_low_s, time_high_s;
	double load_high_n;
	double rate_high_pa_s;
};

void run_plot_scale_add(struct run_plot_scale *scale, const struct run_curve *curve);
/* Puts the drawings on it; rate may be NULL. At most so many ticks. */
void run_plot_set_scale(struct run_plot *load, struct run_plot *rate,
	const struct run_plot_scale *scale, const struct method *method, size_t x_ticks,
	size_t y_ticks);

#endif
