/* SPDX-License-Identifier: MIT
 *
 * Strengths above, ranges beneath, one place a test from left to right in order of sampling. What
 * was not met is ringed and said in words: it survives a copier.
 */
#include "set_chart.h"

#include "commands.h"
#include "output.h"
#include "set_show.h"
#include "words.h"

#include "draw/axis.h"
#include "draw/shown.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { TICKS_MAX = 7, RANGE_TICKS_MAX = 4, NAMES_MAX = 10, LINE_SIZE = 480 };

static const double page_width = 540, margin = 30, scale_width = 34;
static const double strengths_top = 78, strengths_height = 190, ranges_height = 70, gap = 22;
static const double dot = 2.4, ring = 4.6, mean_weight = 1.4, limit_weight = 1;

struct chart {
	const struct set_series *series;
	const struct control_point *points;
	struct control control;
	struct acceptance_input input;
	struct page *page;
	double unit_pa; /* of the scale */
};

struct panel {
	struct axis axis;
	double top, height;
};

static double place_x(const struct chart *chart, size_t i)
{
	double left = margin + scale_width, width = page_width - margin - left;
	return left + width * ((double)i + 0.5) / (double)chart->series->count;
}

static double place_y(const struct panel *panel, double value)
{
	return panel->top + panel->height * (1 - axis_fraction(&panel->axis, value));
}

static void draw_scale(const struct chart *chart, const struct panel *panel, const char *unit)
{
	double left = margin + scale_width;
	char label[AXIS_LABEL_SIZE];
	for (int64_t i = panel->axis.first; i <= panel->axis.last; i++) {
		double y = place_y(panel, axis_tick(&panel->axis, i));
		page_rule(chart->page, PAGE_INK_GRID, 0.35, left, y, page_width - margin, y);
		axis_label(&panel->axis, i, label);
		page_text(chart->page, PAGE_LABEL, PAGE_INK_QUIET, PAGE_RIGHT, left - 5, y + 2.5,
			label);
	}
	page_text(chart->page, PAGE_LABEL, PAGE_INK_QUIET, PAGE_LEFT, margin, panel->top - 7, unit);
}

static void draw_limit(const struct chart *chart, const struct panel *panel, double stress_pa)
{
	double y = place_y(panel, stress_pa / chart->unit_pa);
	page_rule(chart->page, PAGE_INK_TEXT, limit_weight, margin + scale_width, y,
		page_width - margin, y);
}

static void draw_strengths(const struct chart *chart, const struct panel *panel)
{
	const struct set_series *series = chart->series;
	struct page_point last = {0, 0};
	if (chart->input.specified_pa > 0)
		draw_limit(chart, panel, chart->input.specified_pa);
	for (size_t i = 0; i < series->count; i++) {
		struct page_point at = {place_x(chart, i),
			place_y(panel, chart->points[i].three_pa / chart->unit_pa)};
		if (!chart->points[i].has_three)
			continue;
		if (i > 0 && chart->points[i - 1].has_three)
			page_rule(chart->page, PAGE_INK_CURVE, mean_weight, last.x, last.y, at.x,
				at.y);
		last = at;
	}
	for (size_t i = 0; i < series->count; i++) {
		double x = place_x(chart, i);
		double y = place_y(panel, chart->points[i].mean_pa / chart->unit_pa);
		const struct acceptance_at at = set_series_judge(series, i);
		if (!at.single_passed || !at.mean_passed)
			page_ring(chart->page, PAGE_INK_ALERT, x, y, ring);
		page_dot(chart->page, PAGE_INK_CURVE, x, y, dot);
	}
}

static void draw_ranges(const struct chart *chart, const struct panel *panel)
{
	double zero = place_y(panel, 0);
	for (size_t i = 0; i < chart->series->count; i++) {
		const struct companions *set = &chart->series->tests[i]->companions;
		double x = place_x(chart, i), y = place_y(panel, set->range_percent);
		if (set->beyond)
			page_ring(chart->page, PAGE_INK_ALERT, x, y, ring);
		page_rule(chart->page, PAGE_INK_RULE, 0.6, x, zero, x, y);
		page_dot(chart->page, PAGE_INK_CURVE, x, y, dot);
	}
}

/* The first, the last, and as many between as there is room for. */
static void draw_names(const struct chart *chart, double y)
{
	size_t count = chart->series->count, step = (count + NAMES_MAX - 1) / NAMES_MAX;
	double width = place_x(chart, step) - place_x(chart, 0) - 4;
	for (size_t i = 0; i < count; i += step) {
		const struct set_test *test = chart->series->tests[i];
		char day[CLOCKS_UTC_TEXT_SIZE];
		double x = fmax(margin, place_x(chart, i) - width / 2);
		words_minute(test->sampled, day);
		day[strcspn(day, "T")] = '\0';
		page_text_fitted(
			chart->page, PAGE_LABEL, PAGE_INK_QUIET, x, y, width, test->terms.set);
		page_text_fitted(chart->page, PAGE_LABEL, PAGE_INK_QUIET, x, y + 9, width, day);
	}
}

static void draw_head(const struct chart *chart)
{
	char line[LINE_SIZE], specified[32], mean[32], deviation[32];
	bool inch_pound = chart->input.inch_pound;
	struct page *page = chart->page;
	snprintf(line, sizeof line, "Series %s", chart->series->name);
	page_text_fitted(page, PAGE_TITLE, PAGE_INK_TEXT, margin, margin + 14,
		page_width - 2 * margin, line);
	set_show_stress(specified, sizeof specified, inch_pound, chart->input.specified_pa);
	set_show_stress(mean, sizeof mean, inch_pound, chart->control.overall.mean);
	set_show_stress(deviation, sizeof deviation, inch_pound, chart->control.overall.deviation);
	snprintf(line, sizeof line,
		"%zu tests, %s; acceptance: %s, specified %s; mean %s, standard deviation %s. "
		"Dot: the test; heavy line: mean of three; straight line: the specified strength; "
		"ring: not met, or a range beyond its limit.",
		chart->series->count, chart->series->tests[0]->method->standard,
		acceptance_rule_text(chart->input.rule), specified, mean, deviation);
	page_paragraph(page, PAGE_SMALL, PAGE_INK_QUIET, margin, margin + 26,
		page_width - 2 * margin, line);
}

static void draw_failures(const struct chart *chart, double y)
{
	char line[LINE_SIZE];
	for (size_t i = 0; i < chart->series->count; i++) {
		const struct acceptance_at at = set_series_judge(chart->series, i);
		const struct set_test *test = chart->series->tests[i];
		if (at.single_passed && at.mean_passed && !test->companions.beyond)
			continue;
		snprintf(line, sizeof line, "%s: %s%s", test->terms.set,
			at.single_passed && at.mean_passed ? ""
							   : set_show_verdict(chart->series, i),
			test->companions.beyond ? " range beyond its limit" : "");
		page_text_fitted(chart->page, PAGE_STRONG, PAGE_INK_TEXT, margin, y,
			page_width - 2 * margin, line);
		y += page_leading(PAGE_STRONG);
	}
}

static size_t failures(const struct chart *chart)
{
	size_t count = 0;
	for (size_t i = 0; i < chart->series->count; i++) {
		const struct acceptance_at at = set_series_judge(chart->series, i);
		count += !at.single_passed || !at.mean_passed ||
			 chart->series->tests[i]->companions.beyond;
	}
	return count;
}

static void fit(const struct chart *chart, struct panel *strengths, struct panel *ranges)
{
	double low = INFINITY, high = -INFINITY, widest = 0;
	for (size_t i = 0; i < chart->series->count; i++) {
		low = fmin(low, chart->points[i].mean_pa);
		high = fmax(high, chart->points[i].mean_pa);
		widest = fmax(widest, chart->series->tests[i]->companions.range_percent);
	}
	if (chart->input.specified_pa > 0) {
		low = fmin(low, chart->input.specified_pa);
		high = fmax(high, chart->input.specified_pa);
	}
	axis_fit(&strengths->axis, low / chart->unit_pa, high / chart->unit_pa, TICKS_MAX);
	axis_fit(&ranges->axis, 0, widest, RANGE_TICKS_MAX);
}

static void draw(struct chart *chart)
{
	const struct shown_unit *unit = shown_unit(SHOWN_STRESS, chart->input.inch_pound);
	struct panel strengths = {.top = strengths_top, .height = strengths_height};
	struct panel ranges = {
		.top = strengths_top + strengths_height + gap, .height = ranges_height};
	chart->unit_pa = unit->si;
	double bottom = ranges.top + ranges.height;
	double leading = page_leading(PAGE_STRONG);
	chart->page =
		page_create(page_width, bottom + 28 + margin + leading * (double)failures(chart));
	if (!chart->page)
		return;
	fit(chart, &strengths, &ranges);
	draw_head(chart);
	draw_scale(chart, &strengths, unit->text);
	draw_strengths(chart, &strengths);
	draw_scale(chart, &ranges, "range, % of the mean");
	draw_ranges(chart, &ranges);
	draw_names(chart, bottom + 12);
	draw_failures(chart, bottom + 28 + leading);
}

int set_chart(const char *command, const char *path, const struct set_series *series)
{
	struct chart chart = {.series = series, .input = set_test_input(series->tests[0])};
	enum page_format format;
	char title[LINE_SIZE];
	if (!output_format(command, path, &format))
		return EXIT_CANNOT;
	struct control_point *points = set_show_points(series, &chart.control);
	chart.points = points;
	if (points)
		draw(&chart);
	free(points);
	snprintf(title, sizeof title, "Series %s", series->name);
	const struct page_about about = {title, ""};
	return output_page(command, path, format, chart.page, &about);
}
