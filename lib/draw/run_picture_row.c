/* SPDX-License-Identifier: MIT
 *
 * Companions side by side: small, on one scale, so that the eye compares their slopes. The numbers
 * of the loads stand at the left end, those of the band at the right end.
 */
#include "base/units.h"
#include "draw/panel.h"
#include "draw/run_picture.h"
#include "draw/shown.h"

#include <math.h>

enum { TICKS = 5, LABEL_SIZE = 48, CAPTION_SIZE = 256 };

/* Points. */
static const double gap = 12, margin_right = 24;
static const double title_height = 13, foot = 29, /* the numbers of time, and the caption */
	gap_panels = 9, rate_share = 0.4;
static const double narrow = 95; /* name and strength no longer stand beside one another */
static const double curve_weight = 0.9, outside_weight = 2;
static const double ring = 1.8;
static const double tick_apart = 24, number_apart = 11;

struct row {
	struct page *page;
	struct page_box box;
	double width; /* of one panel */
	struct run_plot_scale scale;
	const struct method *method;
	bool one_band; /* the same for all: its limits are named once */
};

static void draw_name(const struct row *row, const struct run_picture *picture, double x)
{
	const struct outcome *outcome = picture->curve->outcome;
	double y = row->box.y + page_leading(PAGE_SMALL_STRONG) - 2;
	double strength = page_text_width(row->page, PAGE_SMALL_STRONG, outcome->strength_reported);
	bool met = outcome->judgement.rate.verdict == VERDICT_IN_BAND ||
		   outcome->judgement.rate.verdict == VERDICT_NONE;
	bool under = row->width < narrow;
	page_text_fitted(row->page, PAGE_SMALL_STRONG, PAGE_INK_TEXT, x, y,
		row->width - (under ? 0 : strength + 6), picture->name);
	y += under ? page_leading(PAGE_SMALL_STRONG) : 0;
	page_text(row->page, PAGE_SMALL_STRONG, PAGE_INK_TEXT, under ? PAGE_LEFT : PAGE_RIGHT,
		under ? x : x + row->width, y, outcome->strength_reported);
	page_text_fitted(row->page, met ? PAGE_SMALL : PAGE_SMALL_STRONG,
		met ? PAGE_INK_QUIET : PAGE_INK_TEXT, x, y + page_leading(PAGE_SMALL), row->width,
		picture->detail);
}

static void draw_span(const struct panel *load, const struct panel *rate)
{
	double from = panel_x(load, load->plot->span_from), to = panel_x(load, load->plot->span_to);
	if (load->plot->has_span)
		page_area(load->page, PAGE_INK_SPAN,
			(struct page_box){
				from, load->box.y, to - from, panel_bottom(rate) - load->box.y});
}

static void draw_limit(const struct row *row, const struct panel *panel, double limit, double y)
{
	char label[LABEL_SIZE];
	struct text text;
	text_init(&text, label, sizeof(label));
	shown_rate_limit(row->method, limit * shown_rate_unit(row->method)->si, &text);
	page_text(row->page, PAGE_LABEL, PAGE_INK_TEXT, PAGE_LEFT, panel_right(panel) + 5, y + 2.5,
		label);
}

static void draw_band(const struct row *row, const struct panel *panel, bool named)
{
	double top = panel_y(panel, panel->plot->band_high);
	double bottom = panel_y(panel, panel->plot->band_low);
	page_area(row->page, PAGE_INK_BAND,
		(struct page_box){panel->box.x, top, panel->box.width, bottom - top});
	page_rule(row->page, PAGE_INK_RULE, panel_hairline, panel->box.x, top, panel_right(panel),
		top);
	page_rule(row->page, PAGE_INK_RULE, panel_hairline, panel->box.x, bottom,
		panel_right(panel), bottom);
	if (!named)
		return;
	draw_limit(row, panel, panel->plot->band_high, top);
	/* Apart from one another even where the band is narrow. */
	draw_limit(row, panel, panel->plot->band_low,
		fmax(bottom, top + page_leading(PAGE_LABEL) - 1.5));
}

static bool draw_load(const struct row *row, const struct run_picture *picture,
	const struct panel *panel, bool first, bool has_rate)
{
	const struct judgement *judgement = &picture->curve->outcome->judgement;
	double unit = shown_unit(SHOWN_LOAD, row->method->inch_pound)->si;
	double at = (double)(judgement->maximum_at.ns - picture->curve->origin.ns) /
		    (double)CLOCKS_NS_PER_S;
	if (first)
		panel_y_axis(panel);
	else
		panel_y_grid(panel);
	panel_x_axis(panel, has_rate ? NULL : "");
	bool good = panel_curve(panel, PAGE_INK_CURVE, curve_weight);
	if (judgement->maximum_un > 0)
		page_ring(row->page, PAGE_INK_CURVE, panel_x(panel, at),
			panel_y(panel,
				(double)judgement->maximum_un / (double)UNITS_UN_PER_N / unit),
			ring);
	return good;
}

static bool draw_rate(const struct row *row, const struct run_picture *picture,
	const struct panel *panel, bool first, bool last)
{
	const struct outcome *outcome = picture->curve->outcome;
	int64_t window_ns = outcome->judgement.rate.window_ns;
	draw_band(row, panel, last || !row->one_band);
	if (first)
		panel_y_axis(panel);
	else
		panel_y_grid(panel);
	panel_x_axis(panel, "");
	return panel_curve(panel, PAGE_INK_CURVE, curve_weight) &&
	       panel_curve_outside(panel, PAGE_INK_ALERT, outside_weight,
		       (double)window_ns / 2 / (double)CLOCKS_NS_PER_S);
}

static bool draw_one(
	const struct row *row, const struct run_picture *picture, double x, bool first, bool last)
{
	struct run_plot load, rate;
	if (!run_plot_load(&load, picture->curve))
		return false;
	bool has_rate = run_plot_rate(&rate, picture->curve);
	double lines = row->width < narrow ? 2 : 1; /* below the name */
	double top = row->box.y + title_height + lines * page_leading(PAGE_SMALL) + 4;
	double height = row->box.y + row->box.height - foot - top - (has_rate ? gap_panels : 0);
	double share = has_rate ? 1 - rate_share : 1;
	struct panel upper = {row->page, {x, top, row->width, height * share}, &load.plot};
	struct panel lower = {row->page,
		{x, top + height * share + gap_panels, row->width, height * rate_share},
		&rate.plot};
	size_t across = (size_t)fmax(row->width / tick_apart, 2);
	run_plot_set_scale(&load, has_rate ? &rate : NULL, &row->scale, row->method, across, TICKS);
	if (has_rate)
		axis_fit_tight(&rate.plot.y, 0,
			row->scale.rate_high_pa_s / shown_rate_unit(row->method)->si,
			(size_t)fmax(lower.box.height / number_apart, 2));
	draw_name(row, picture, x);
	draw_span(&upper, has_rate ? &lower : &upper);
	bool good = draw_load(row, picture, &upper, first, has_rate);
	if (has_rate) {
		good = draw_rate(row, picture, &lower, first, last) && good;
		run_plot_finish(&rate);
	}
	run_plot_finish(&load);
	return good;
}

static void measure(struct row *row, const struct run_picture *const *pictures, size_t count)
{
	const struct rate *first = &pictures[0]->curve->outcome->judgement.rate;
	row->method = pictures[0]->curve->outcome->method;
	row->one_band = true;
	for (size_t i = 0; i < count; i++) {
		const struct rate *rate = &pictures[i]->curve->outcome->judgement.rate;
		run_plot_scale_add(&row->scale, pictures[i]->curve);
		row->one_band = row->one_band && rate->band_low_pa_s == first->band_low_pa_s &&
				rate->band_high_pa_s == first->band_high_pa_s;
	}
	double right = row->one_band ? margin_right : 0;
	double between = row->one_band ? gap : gap + margin_right;
	row->width = (row->box.width - panel_margin_left - right - between * (double)(count - 1)) /
		     (double)count;
}

static void draw_caption(const struct row *row, const struct run_picture *picture)
{
	const struct outcome *outcome = picture->curve->outcome;
	int64_t window_ns = outcome->judgement.rate.window_ns;
	char caption[CAPTION_SIZE];
	struct text text;
	if (!window_ns)
		window_ns = outcome->method->window_ns;
	text_init(&text, caption, sizeof(caption));
	text_format(&text, "Above the load in %s, below the stress rate in %s (slope over ",
		shown_unit(SHOWN_LOAD, row->method->inch_pound)->text,
		shown_rate_unit(row->method)->text);
	text_fixed(&text, llround((double)window_ns / (CLOCKS_NS_PER_S / 10.0)), 1);
	text_put(&text,
		" s), over time in s. Shaded: the judged span and, darker, the band; heavy: "
		"out of it.");
	page_text_fitted(row->page, PAGE_SMALL, PAGE_INK_QUIET, row->box.x,
		row->box.y + row->box.height - 3, row->box.width, caption);
}

bool run_picture_row_draw(struct page *page, struct page_box box,
	const struct run_picture *const *pictures, size_t count)
{
	struct row row = {.page = page, .box = box};
	bool good = true;
	measure(&row, pictures, count);
	double step = row.width + (row.one_band ? gap : gap + margin_right);
	for (size_t i = 0; i < count && good; i++)
		good = draw_one(&row, pictures[i], box.x + panel_margin_left + step * (double)i,
			i == 0, i + 1 == count);
	draw_caption(&row, pictures[0]);
	return good && !page->failed;
}
