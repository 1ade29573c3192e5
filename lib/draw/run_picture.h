/* SPDX-License-Identifier: MIT
 *
 * The picture of one run for a page: the load over time, beneath it the stress rate on the same
 * axis of time. The judged span is shaded through both, the band lies under the rate, maximum, end
 * and events are marked where they happened and named beside.
 *
 * Shows, and judges nothing: every number comes from the outcome. Scales and curves are those of
 * run_plot.h, so that terminal and paper agree.
 */
#ifndef DRAW_RUN_PICTURE_H
#define DRAW_RUN_PICTURE_H

#include "base/text.h"
#include "draw/page.h"
#include "draw/run_plot.h"

struct run_picture {
	const struct run_curve *curve;
	const char *name;   /* "quay-7-3", above the left end; "" no head line */
	bool brief;         /* beside a text that has verdict and events in words: without both */
	const char *detail; /* beside it, quieter: "run 12 on north, 2026-11-25T09:34:40Z" */
};

/* A page of its own with a margin, in points: 180 x 125 mm. */
enum { RUN_PICTURE_WIDTH = 510, RUN_PICTURE_HEIGHT = 354 };
/* In less it would not be legible. */
enum { RUN_PICTURE_WIDTH_LEAST = 300, RUN_PICTURE_HEIGHT_LEAST = 180 };

/* Draws into the box. False when memory is short. */
bool run_picture_draw(struct page *page, struct page_box box, const struct run_picture *picture);

/* The same on a scale that others share; NULL: its own. */
bool run_picture_draw_scaled(struct page *page, struct page_box box,
	const struct run_picture *picture, const struct run_plot_scale *scale);

/* Several side by side on one scale, its numbers at the two ends only, without what is in the words
 * of a report. False when memory is short. */
bool run_picture_row_draw(struct page *page, struct page_box box,
	const struct run_picture *const *pictures, size_t count);
/* In less it would not be legible: six on a page. */
enum { RUN_PICTURE_ROW_WIDTH_LEAST = 65, RUN_PICTURE_ROW_HEIGHT_LEAST = 108 };

/* The same on a page of its own; NULL when memory is short. */
struct page *run_picture_page(const struct run_picture *picture);

/* "in band" and so on, as a sentence begins: "Rate in band, on the anticipated load: 0.24 ...". */
void run_picture_verdict(const struct outcome *outcome, struct text *text);

/* How many of the run's events have a number in its picture; the words of one of them: "14.2 s
 * stall: the load stood still for 6.4 s". */
size_t run_picture_event_count(const struct outcome *outcome);
void run_picture_event(const struct run_curve *curve, size_t event, struct text *text);

#endif
