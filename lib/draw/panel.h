/* SPDX-License-Identifier: MIT
 *
 * A plot in a box of a page: its axes, its line. What a picture is made of; places marks and
 * decides nothing about them.
 */
#ifndef DRAW_PANEL_H
#define DRAW_PANEL_H

#include "draw/page.h"
#include "draw/plot.h"

struct panel {
	struct page *page;
	struct page_box box;
	const struct plot *plot;
};

double panel_x(const struct panel *panel, double value);
double panel_y(const struct panel *panel, double value);
double panel_right(const struct panel *panel);
double panel_bottom(const struct panel *panel);

/* A title above, flush with the labels of the axis on the left. */
void panel_title(const struct panel *panel, const char *title);
/* Grid lines across the panel, their numbers to the left of it. */
void panel_y_axis(const struct panel *panel);
void panel_y_grid(const struct panel *panel); /* without the numbers */
/* The line below with its ticks; with numbers and the axis' unit where there is one ("": numbers
 * only). */
void panel_x_axis(const struct panel *panel, const char *unit);
/* The plot's line, cut off at the panel's edge. False when memory is short. */
bool panel_curve(const struct panel *panel, enum page_ink ink, double weight);

/* Those parts of it that lie outside the band within the judged span, `within` of the axis of x
 * from both of its ends. */
bool panel_curve_outside(
	const struct panel *panel, enum page_ink ink, double weight, double within);

/* True where the plot's line may run through the box. */
bool panel_crossed(const struct panel *panel, struct page_box box);

extern const double panel_margin_left; /* room for the numbers of the y axis */
extern const double panel_hairline, panel_axis_weight;

#endif
