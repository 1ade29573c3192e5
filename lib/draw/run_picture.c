/* SPDX-License-Identifier: MIT
 *
 * From top to bottom: head, sentence of the verdict, numbers of the events, the load, the rate,
 * the axis of time, the words of the events. Labels that belong to a curve stand in the margin to
 * the right of it, at the height of what they name, where no curve can run through them.
 */
#include "draw/run_picture.h"

#include "base/units.h"
#include "draw/panel.h"
#include "draw/shown.h"

#include <math.h>
#include <stdlib.h>

enum {
	EVENTS_SHOWN = 12, /* more would hide the curve; the rest is counted */
	PICTURE_TEXT_SIZE = 256,
	SCALED_TICKS = 7,
};

/* Points. */
static const double margin_right = 58;
static const double gap_panels = 26;   /* holds the title of the rate */
static const double foot = 14;         /* the labels of time */
static const double rate_share = 0.36; /* of the height of both panels */
static const double curve_weight = 1.1, curve_weight_outside = 2.2;
static const double tick_apart = 12;
static const double number_apart = 10; /* event numbers, middle to middle */
static const double page_margin = 17;
static const double detail_least = 24; /* in less room it is left out */

struct layout {
	struct page *page;
	const struct run_picture *picture;
	const struct outcome *outcome;
	bool inch_pound;
	struct panel load, rate;
	double right; /* end of the margin */
};

static double seconds_from(struct mono_time origin, struct mono_time time)
{
	return (double)(time.ns - origin.ns) / (double)CLOCKS_NS_PER_S;
}

static double seconds_of(const struct layout *layout, struct mono_time time)
{
	return seconds_from(layout->picture->curve->origin, time);
}

static double newtons(int64_t load_un)
{
	return (double)load_un / (double)UNITS_UN_PER_N;
}

/* ---- words */

static const char *verdict_words(enum verdict verdict)
{
	switch (verdict) {
	case VERDICT_NONE:
		return "Rate not judged";
	case VERDICT_IN_BAND:
		return "Rate in band";
	case VERDICT_OUT_OF_BAND:
		return "Rate out of band";
	case VERDICT_UNDETERMINED:
		return "Rate undetermined";
	}
	return "";
}

void run_picture_verdict(const struct outcome *outcome, struct text *text)
{
	const struct judgement *judgement = &outcome->judgement;
	text_put(text, verdict_words(judgement->rate.verdict));
	if (judgement->rate.verdict != VERDICT_NONE)
		text_format(text, ", on the %s load", basis_text(judgement->basis));
	if (judgement->rate.reason[0])
		text_format(text, ": %s", judgement->rate.reason);
	text_put(text, ".");
}

static double draw_head(const struct layout *layout, struct page_box box)
{
	const struct run_picture *picture = layout->picture;
	struct page *page = layout->page;
	char buffer[2 * PICTURE_TEXT_SIZE];
	struct text text;
	double y = box.y + page_leading(PAGE_HEADING) - 3;
	if (!picture->name[0])
		return box.y;
	double room = box.width - 8 -
		      page_text_width(page, PAGE_HEADING, layout->outcome->strength_reported);
	double name = page_text_width(page, PAGE_HEADING, picture->name) + 7;
	page_text_fitted(page, PAGE_HEADING, PAGE_INK_TEXT, box.x, y, room, picture->name);
	if (room - name > detail_least)
		page_text_fitted(page, PAGE_SMALL, PAGE_INK_QUIET, box.x + name, y, room - name,
			picture->detail);
	page_text(page, PAGE_HEADING, PAGE_INK_TEXT, PAGE_RIGHT, layout->right, y,
		layout->outcome->strength_reported);
	if (picture->brief)
		return y + 5;
	text_init(&text, buffer, sizeof(buffer));
	run_picture_verdict(layout->outcome, &text);
	bool met = layout->outcome->judgement.rate.verdict == VERDICT_IN_BAND ||
		   layout->outcome->judgement.rate.verdict == VERDICT_NONE;
	y = page_paragraph(page, met ? PAGE_SMALL : PAGE_SMALL_STRONG, PAGE_INK_TEXT, box.x,
		y + page_leading(PAGE_HEADING) - 1, box.width, buffer);
	return y - page_leading(PAGE_SMALL) + 6;
}

/* ---- panels */

static void draw_span(const struct layout *layout)
{
	const struct panel *load = &layout->load;
	if (!load->plot->has_span)
		return;
	double from = panel_x(load, load->plot->span_from), to = panel_x(load, load->plot->span_to);
	page_area(layout->page, PAGE_INK_SPAN,
		(struct page_box){
			from, load->box.y, to - from, panel_bottom(&layout->rate) - load->box.y});
}

/* The first place that the curve leaves free: at the foot of the span on its right, where it lies
 * below a load that rises; else behind it or before it. */
static struct page_box free_place(const struct panel *panel, double width, double height)
{
	double from = panel_x(panel, panel->plot->span_from);
	double to = panel_x(panel, panel->plot->span_to);
	double foot_y = panel_bottom(panel) - height, head_y = panel->box.y;
	const struct page_box places[] = {{to - width, foot_y, width, height},
		{to, foot_y, width, height}, {from - width, foot_y, width, height},
		{from - width, head_y, width, height}, {to, head_y, width, height}};
	enum { PLACES = sizeof(places) / sizeof(*places) };
	for (size_t i = 0; i < PLACES; i++) {
		if (places[i].x >= panel->box.x && places[i].x + width <= panel_right(panel) &&
			!panel_crossed(panel, places[i]))
			return places[i];
	}
	return places[0];
}

static void draw_span_label(const struct layout *layout)
{
	static const char first[] = "judged span";
	static const double space = 4;
	const struct plot *plot = layout->load.plot;
	char buffer[PICTURE_TEXT_SIZE];
	struct text text;
	if (!plot->has_span)
		return;
	text_init(&text, buffer, sizeof(buffer));
	text_fixed(&text, llround(plot->span_from * 10), 1);
	text_put(&text, " to ");
	text_fixed(&text, llround(plot->span_to * 10), 1);
	text_put(&text, " s");
	double width = fmax(page_text_width(layout->page, PAGE_SMALL, first),
		page_text_width(layout->page, PAGE_SMALL, buffer));
	double leading = page_leading(PAGE_SMALL);
	struct page_box place = free_place(&layout->load, width + 2 * space, 2 * leading + space);
	double right = place.x + place.width - space;
	page_text(layout->page, PAGE_SMALL, PAGE_INK_QUIET, PAGE_RIGHT, right, place.y + leading,
		first);
	page_text(layout->page, PAGE_SMALL, PAGE_INK_QUIET, PAGE_RIGHT, right,
		place.y + 2 * leading, buffer);
}

/* ---- the load's marks */

static void draw_maximum(const struct layout *layout)
{
	const struct judgement *judgement = &layout->outcome->judgement;
	const struct panel *panel = &layout->load;
	char buffer[PICTURE_TEXT_SIZE];
	struct text text;
	double at = seconds_of(layout, judgement->maximum_at),
	       load = newtons(judgement->maximum_un);
	double x = panel_x(panel, at);
	double y = panel_y(panel, load / shown_unit(SHOWN_LOAD, layout->inch_pound)->si);
	double right = panel_right(panel);
	if (judgement->maximum_un <= 0)
		return;
	page_rule(layout->page, PAGE_INK_RULE, panel_hairline, x, y, right + 8, y);
	page_ring(layout->page, PAGE_INK_CURVE, x, y, 2.4);
	text_init(&text, buffer, sizeof(buffer));
	shown_put(SHOWN_LOAD, layout->inch_pound, load, &text);
	page_text(layout->page, PAGE_SMALL_STRONG, PAGE_INK_TEXT, PAGE_LEFT, right + 12, y + 2.5,
		buffer);
	text_init(&text, buffer, sizeof(buffer));
	text_put(&text, "at ");
	text_fixed(&text, llround(at * 10), 1);
	text_put(&text, " s");
	page_text(layout->page, PAGE_LABEL, PAGE_INK_QUIET, PAGE_LEFT, right + 12,
		y + 2.5 + page_leading(PAGE_LABEL), buffer);
}

/* The end of the curve, with how the run ended; out of the way of the maximum's label. */
static void draw_end(const struct layout *layout, const struct plot *plot)
{
	const struct judgement *judgement = &layout->outcome->judgement;
	const struct panel *panel = &layout->load;
	if (plot->count == 0)
		return;
	struct plot_point last = plot->points[plot->count - 1];
	double x = panel_x(panel, last.x), y = panel_y(panel, last.y);
	double maximum = panel_y(panel,
		newtons(judgement->maximum_un) / shown_unit(SHOWN_LOAD, layout->inch_pound)->si);
	double label = fmin(fmax(y + 2.5, maximum + 2.5 + 2.2 * page_leading(PAGE_LABEL)),
		panel_bottom(panel) + 2.5);
	page_dot(layout->page, PAGE_INK_CURVE, x, fmin(y, panel_bottom(panel)), 1.8);
	page_text(layout->page, PAGE_LABEL, PAGE_INK_TEXT, PAGE_LEFT, panel_right(panel) + 12,
		label, end_text(judgement->end));
}

/* ---- events: a number above, a line down to the curve, words below the picture */

size_t run_picture_event_count(const struct outcome *outcome)
{
	size_t count = outcome->judgement.event_count;
	return count < EVENTS_SHOWN ? count : EVENTS_SHOWN;
}

/* Numbers that would touch are moved apart, within the panel's width. */
static void spread(const struct panel *panel, double *x, size_t count)
{
	double right = panel_right(panel);
	for (size_t i = 1; i < count; i++)
		x[i] = fmax(x[i], x[i - 1] + number_apart);
	for (size_t i = count; i-- > 0; right = x[i] - number_apart)
		x[i] = fmin(x[i], right);
}

static void draw_events(const struct layout *layout)
{
	const struct panel *panel = &layout->load;
	const struct event *events = layout->outcome->judgement.events;
	size_t count = run_picture_event_count(layout->outcome);
	double at[EVENTS_SHOWN], numbers[EVENTS_SHOWN];
	for (size_t i = 0; i < count; i++) {
		double x = panel_x(panel, seconds_of(layout, events[i].time));
		numbers[i] = at[i] = fmin(fmax(x, panel->box.x), panel_right(panel));
	}
	spread(panel, numbers, count);
	for (size_t i = 0; i < count; i++) {
		double load =
			newtons(events[i].load_un) / shown_unit(SHOWN_LOAD, layout->inch_pound)->si;
		double y = fmin(fmax(panel_y(panel, load), panel->box.y), panel_bottom(panel));
		const struct page_point line[] = {
			{numbers[i], panel->box.y - 4}, {at[i], panel->box.y + 4}, {at[i], y}};
		char number[24];
		page_line(layout->page, PAGE_INK_RULE, panel_hairline, line, 3);
		page_dot(layout->page, PAGE_INK_ALERT, at[i], y, 1.5);
		decimal_text((int64_t)i + 1, 0, number);
		page_text(layout->page, PAGE_SMALL_STRONG, PAGE_INK_ALERT, PAGE_MIDDLE, numbers[i],
			panel->box.y - 6, number);
	}
}

void run_picture_event(const struct run_curve *curve, size_t index, struct text *text)
{
	const struct event *event = &curve->outcome->judgement.events[index];
	text_fixed(text, llround(seconds_from(curve->origin, event->time) * 10), 1);
	text_put(text, " s ");
	for (const char *letter = event_kind_text(event->kind); *letter; letter++)
		text_put_bytes(text, *letter == '_' ? " " : letter, 1);
	text_format(text, ": %s", event->text);
}

/* From y on downwards; the next y is returned. */
static double draw_key(const struct layout *layout, double x, double y, double width)
{
	const struct judgement *judgement = &layout->outcome->judgement;
	size_t count = run_picture_event_count(layout->outcome);
	char buffer[PICTURE_TEXT_SIZE];
	struct text text;
	if (layout->picture->brief)
		return y;
	for (size_t i = 0; i < count; i++) {
		char number[24];
		decimal_text((int64_t)i + 1, 0, number);
		page_text(layout->page, PAGE_SMALL_STRONG, PAGE_INK_ALERT, PAGE_RIGHT, x + 8, y,
			number);
		text_init(&text, buffer, sizeof(buffer));
		run_picture_event(layout->picture->curve, i, &text);
		y = page_paragraph(
			layout->page, PAGE_SMALL, PAGE_INK_TEXT, x + 14, y, width - 14, buffer);
	}
	if (judgement->event_total <= count)
		return y;
	text_init(&text, buffer, sizeof(buffer));
	text_format(&text, "and %zu more events", judgement->event_total - count);
	return page_paragraph(
		layout->page, PAGE_SMALL, PAGE_INK_TEXT, x + 14, y, width - 14, buffer);
}

/* ---- the rate */

static void draw_band(const struct layout *layout, const struct plot *plot)
{
	const struct panel *panel = &layout->rate;
	double top = panel_y(panel, plot->band_high);
	double bottom = panel_y(panel, plot->band_low);
	double right = panel_right(panel);
	const double edges[] = {plot->band_high, plot->band_low};
	page_area(layout->page, PAGE_INK_BAND,
		(struct page_box){panel->box.x, top, panel->box.width, bottom - top});
	for (size_t i = 0; i < 2; i++) {
		double y = i ? bottom : top;
		char buffer[PICTURE_TEXT_SIZE];
		struct text text;
		text_init(&text, buffer, sizeof(buffer));
		shown_rate_limit(layout->outcome->method,
			edges[i] * shown_rate_unit(layout->outcome->method)->si, &text);
		page_rule(layout->page, PAGE_INK_RULE, panel_axis_weight, panel->box.x, y,
			right + 8, y);
		/* Apart from one another even where the band is narrow. */
		page_text(layout->page, PAGE_SMALL_STRONG, PAGE_INK_TEXT, PAGE_LEFT, right + 12,
			i ? fmax(y + 2.5, top + 2.5 + page_leading(PAGE_SMALL)) : y + 2.5, buffer);
	}
}

static void draw_worst(const struct layout *layout, const struct plot *plot)
{
	const struct rate *rate = &layout->outcome->judgement.rate;
	double unit = shown_rate_unit(layout->outcome->method)->si;
	bool low =
		rate->band_low_pa_s - rate->lowest_pa_s > rate->highest_pa_s - rate->band_high_pa_s;
	double value = (low ? rate->lowest_pa_s : rate->highest_pa_s) / unit;
	if (rate->verdict == VERDICT_IN_BAND || rate->verdict == VERDICT_NONE ||
		value > plot->y.high)
		return;
	page_ring(layout->page, PAGE_INK_ALERT,
		panel_x(&layout->rate, seconds_of(layout, rate->worst)),
		panel_y(&layout->rate, value), 2.4);
}

static bool draw_rate(const struct layout *layout)
{
	const struct panel *panel = &layout->rate;
	int64_t window_ns = layout->outcome->judgement.rate.window_ns;
	char buffer[PICTURE_TEXT_SIZE];
	struct text text;
	draw_band(layout, panel->plot);
	panel_y_axis(panel);
	panel_x_axis(panel, "time, s");
	if (!window_ns)
		window_ns = layout->outcome->method->window_ns;
	/* Heavy where the judge saw it: his windows lie wholly within the span. */
	bool good = panel_curve(panel, PAGE_INK_CURVE, curve_weight) &&
		    panel_curve_outside(panel, PAGE_INK_ALERT, curve_weight_outside,
			    (double)window_ns / 2 / (double)CLOCKS_NS_PER_S);
	draw_worst(layout, panel->plot);
	text_init(&text, buffer, sizeof(buffer));
	text_format(&text, "stress rate, %s, slope over ",
		shown_rate_unit(layout->outcome->method)->text);
	text_fixed(&text, llround((double)window_ns / (CLOCKS_NS_PER_S / 10.0)), 1);
	text_put(&text, " s");
	panel_title(panel, buffer);
	return good;
}

static bool draw_load(const struct layout *layout, const char *title, bool has_rate)
{
	const struct panel *panel = &layout->load;
	panel_y_axis(panel);
	panel_x_axis(panel, has_rate ? NULL : "time, s");
	draw_span_label(layout);
	panel_title(panel, title);
	bool good = panel_curve(panel, PAGE_INK_CURVE, curve_weight);
	draw_maximum(layout);
	draw_end(layout, panel->plot);
	draw_events(layout);
	return good;
}

/* The height of the key, measured by drawing it on a page that is thrown away. */
static double key_height(const struct layout *layout, double width)
{
	struct layout trial = *layout;
	trial.page = page_create(width, 1);
	if (!trial.page)
		return 0;
	double height = draw_key(&trial, 0, 0, width);
	page_destroy(trial.page);
	return height;
}

static void place_panels(struct layout *layout, struct page_box box, double top, bool has_rate)
{
	double key = key_height(layout, box.width);
	double bottom = box.y + box.height - foot - (key > 0 ? key + 4 : 0);
	top += 17; /* numbers of the events, title of the load */
	double height = fmax(bottom - top - (has_rate ? gap_panels : 0), 60);
	double width = box.width - panel_margin_left - margin_right;
	double load = has_rate ? height * (1 - rate_share) : height;
	layout->load.box = (struct page_box){box.x + panel_margin_left, top, width, load};
	layout->rate.box = (struct page_box){box.x + panel_margin_left,
		has_rate ? top + load + gap_panels : top, width, has_rate ? height - load : load};
}

/* No more numbers on an axis than stand apart on it. */
static void thin_ticks(struct axis *axis, double height)
{
	size_t most = (size_t)fmax(height / tick_apart, 2);
	if ((size_t)(axis->last - axis->first) > most)
		axis_fit(axis, axis->low, axis->high, most);
}

bool run_picture_draw(struct page *page, struct page_box box, const struct run_picture *picture)
{
	return run_picture_draw_scaled(page, box, picture, NULL);
}

bool run_picture_draw_scaled(struct page *page, struct page_box box,
	const struct run_picture *picture, const struct run_plot_scale *scale)
{
	const struct outcome *outcome = picture->curve->outcome;
	struct layout layout = {.page = page,
		.picture = picture,
		.outcome = outcome,
		.inch_pound = outcome->method->inch_pound,
		.right = box.x + box.width};
	struct run_plot load, rate;
	if (!run_plot_load(&load, picture->curve))
		return false;
	bool has_rate = run_plot_rate(&rate, picture->curve);
	layout.load = (struct panel){.page = page, .plot = &load.plot};
	layout.rate = (struct panel){.page = page, .plot = has_rate ? &rate.plot : &load.plot};
	place_panels(&layout, box, draw_head(&layout, box), has_rate);
	if (scale)
		run_plot_set_scale(&load, has_rate ? &rate : NULL, scale, outcome->method,
			SCALED_TICKS, SCALED_TICKS);
	thin_ticks(&load.plot.y, layout.load.box.height);
	if (has_rate)
		thin_ticks(&rate.plot.y, layout.rate.box.height);
	draw_span(&layout);
	bool good = draw_load(&layout, load.title, has_rate);
	if (has_rate) {
		good = draw_rate(&layout) && good;
		run_plot_finish(&rate);
	}
	draw_key(&layout, box.x, panel_bottom(&layout.rate) + foot + page_leading(PAGE_SMALL),
		box.width);
	run_plot_finish(&load);
	return good && !page->failed;
}

struct page *run_picture_page(const struct run_picture *picture)
{
	struct page *page = page_create(RUN_PICTURE_WIDTH, RUN_PICTURE_HEIGHT);
	const struct page_box box = {page_margin, page_margin, RUN_PICTURE_WIDTH - 2 * page_margin,
		RUN_PICTURE_HEIGHT - 2 * page_margin};
	if (page && !run_picture_draw(page, box, picture)) {
		page_destroy(page);
		page = NULL;
	}
	return page;
}
