/* SPDX-License-Identifier: MIT */
#include "draw/panel.h"

#include <math.h>
#include <stdlib.h>

/* Of a long curve: half a dot of a picture as wide as a page, at 200 dots to the inch. */
enum { COLUMNS = 1500 };

const double panel_margin_left = 34;
const double panel_hairline = 0.35, panel_axis_weight = 0.7;

/* From a baseline up to the middle of a figure. */
static const double half_figure = 2.5;
/* What is drawn on the very edge keeps its whole width. */
static const double edge = 1;

double panel_x(const struct panel *panel, double value)
{
	return panel->box.x + panel->box.width * axis_fraction(&panel->plot->x, value);
}

double panel_y(const struct panel *panel, double value)
{
	return panel->box.y + panel->box.height * (1 - axis_fraction(&panel->plot->y, value));
}

double panel_right(const struct panel *panel)
{
	return panel->box.x + panel->box.width;
}

double panel_bottom(const struct panel *panel)
{
	return panel->box.y + panel->box.height;
}

void panel_title(const struct panel *panel, const char *title)
{
	page_text(panel->page, PAGE_SMALL, PAGE_INK_TEXT, PAGE_LEFT,
		panel->box.x - panel_margin_left, panel->box.y - 9, title);
}

void panel_y_grid(const struct panel *panel)
{
	const struct axis *axis = &panel->plot->y;
	for (int64_t i = axis->first; i <= axis->last; i++) {
		double y = panel_y(panel, axis_tick(axis, i));
		page_rule(panel->page, PAGE_INK_GRID, panel_hairline, panel->box.x, y,
			panel_right(panel), y);
	}
}

void panel_y_axis(const struct panel *panel)
{
	const struct axis *axis = &panel->plot->y;
	char label[AXIS_LABEL_SIZE];
	panel_y_grid(panel);
	for (int64_t i = axis->first; i <= axis->last; i++) {
		axis_label(axis, i, label);
		page_text(panel->page, PAGE_LABEL, PAGE_INK_QUIET, PAGE_RIGHT, panel->box.x - 5,
			panel_y(panel, axis_tick(axis, i)) + half_figure, label);
	}
}

void panel_x_axis(const struct panel *panel, const char *unit)
{
	const struct axis *axis = &panel->plot->x;
	char label[AXIS_LABEL_SIZE];
	double bottom = panel_bottom(panel);
	page_rule(panel->page, PAGE_INK_RULE, panel_axis_weight, panel->box.x, bottom,
		panel_right(panel), bottom);
	for (int64_t i = axis->first; i <= axis->last; i++) {
		double x = panel_x(panel, axis_tick(axis, i));
		page_rule(panel->page, PAGE_INK_RULE, panel_axis_weight, x, bottom, x, bottom + 3);
		axis_label(axis, i, label);
		if (unit)
			page_text(panel->page, PAGE_LABEL, PAGE_INK_QUIET, PAGE_MIDDLE, x,
				bottom + 11, label);
	}
	if (unit && *unit)
		page_text(panel->page, PAGE_LABEL, PAGE_INK_QUIET, PAGE_LEFT,
			panel_right(panel) + 12, bottom + 11, unit);
}

struct pen {
	struct page_point *points;
	size_t count;
	enum page_ink ink;
	double weight;
};

static void lift_pen(const struct panel *panel, struct pen *pen)
{
	page_line(panel->page, pen->ink, pen->weight, pen->points, pen->count);
	pen->count = 0;
}

static void draw_points(const struct panel *panel, struct pen *pen)
{
	const struct plot *plot = panel->plot;
	for (size_t i = 0; i < plot->count; i++) {
		if (isnan(plot->points[i].y)) {
			lift_pen(panel, pen);
			continue;
		}
		pen->points[pen->count++] = (struct page_point){
			panel_x(panel, plot->points[i].x), panel_y(panel, plot->points[i].y)};
	}
	lift_pen(panel, pen);
}

/* Many points: from the least to the largest of each column, so that no peak is lost. */
static bool draw_columns(const struct panel *panel, struct pen *pen)
{
	double *low = calloc((size_t)2 * COLUMNS, sizeof(*low)), *high = low + COLUMNS;
	if (!low)
		return false;
	plot_columns(panel->plot, COLUMNS, low, high);
	for (size_t i = 0; i < COLUMNS; i++) {
		double x = panel->box.x + panel->box.width * ((double)i + 0.5) / COLUMNS;
		if (low[i] > high[i]) {
			lift_pen(panel, pen);
			continue;
		}
		double first = i % 2 ? high[i] : low[i], second = i % 2 ? low[i] : high[i];
		pen->points[pen->count++] = (struct page_point){x, panel_y(panel, first)};
		pen->points[pen->count++] = (struct page_point){x, panel_y(panel, second)};
	}
	lift_pen(panel, pen);
	free(low);
	return true;
}

bool panel_curve(const struct panel *panel, enum page_ink ink, double weight)
{
	size_t count = panel->plot->count;
	bool many = count > (size_t)2 * COLUMNS;
	struct pen pen = {.ink = ink, .weight = weight};
	const struct page_box clip = {panel->box.x - edge, panel->box.y - edge,
		panel->box.width + 2 * edge, panel->box.height + 2 * edge};
	bool good = true;
	pen.points = calloc(many ? (size_t)2 * COLUMNS : count + 1, sizeof(*pen.points));
	if (!pen.points)
		return false;
	page_clip(panel->page, &clip);
	if (many)
		good = draw_columns(panel, &pen);
	else
		draw_points(panel, &pen);
	page_clip(panel->page, NULL);
	free(pen.points);
	return good;
}

bool panel_curve_outside(const struct panel *panel, enum page_ink ink, double weight, double within)
{
	struct plot outside = *panel->plot;
	struct plot_point *points = calloc(outside.count + 1, sizeof(*points));
	if (!points)
		return false;
	for (size_t i = 0; i < outside.count; i++) {
		struct plot_point point = outside.points[i];
		bool judged = point.x >= outside.span_from + within &&
			      point.x <= outside.span_to - within;
		bool out = point.y < outside.band_low || point.y > outside.band_high;
		points[i] = (struct plot_point){point.x, judged && out ? point.y : NAN};
	}
	outside.points = points;
	const struct panel part = {panel->page, panel->box, &outside};
	bool good = panel_curve(&part, ink, weight);
	free(points);
	return good;
}

bool panel_crossed(const struct panel *panel, struct page_box box)
{
	const struct plot_point *points = panel->plot->points;
	for (size_t i = 1; i < panel->plot->count; i++) {
		double x0 = panel_x(panel, points[i - 1].x), x1 = panel_x(panel, points[i].x);
		double y0 = panel_y(panel, points[i - 1].y), y1 = panel_y(panel, points[i].y);
		if (x1 >= box.x && x0 <= box.x + box.width && fmax(y0, y1) >= box.y &&
			fmin(y0, y1) <= box.y + box.height)
			return true;
	}
	return false;
}
