/* SPDX-License-Identifier: MIT */
#include "monitor_parts.h"

#include "draw/band_bar.h"
#include "draw/big_digits.h"
#include "draw/shown.h"
#include "words.h"

#include <curses.h>
#include <inttypes.h>
#include <math.h>
#include <string.h>

enum {
	LEFT = MONITOR_PARTS_LEFT,
	ROW_LOAD = MONITOR_PARTS_ROW_LOAD,
	LINE_SIZE = MONITOR_PARTS_LINE_SIZE,
};

/* The text in wide characters; what is no text of this locale is shown as ASCII with question
 * marks, since half a message is better than none. */
static size_t widen(const char *text, wchar_t *wide)
{
	size_t count = mbstowcs(wide, text, LINE_SIZE - 1);
	if (count == (size_t)-1) {
		for (count = 0; text[count] && count < LINE_SIZE - 1; count++)
			wide[count] = (unsigned char)text[count] < 0x80 ? text[count] : L'?';
	}
	for (size_t i = 0; i < count; i++) {
		if (wide[i] < L' ')
			wide[i] = L' ';
	}
	wide[count] = L'\0';
	return count;
}

void monitor_parts_put(int row, int column, int end, const char *text)
{
	wchar_t wide[LINE_SIZE];
	size_t count = widen(text, wide);
	/* Columns, not characters: some characters are two columns wide. */
	while (count > 0 && wcswidth(wide, count) > end - column)
		wide[--count] = L'\0';
	if (count > 0)
		mvaddwstr(row, column, wide);
}

static void put_named(
	const struct monitor_layout *layout, int row, const char *name, const char *value)
{
	monitor_parts_put(row, layout->side, layout->columns - 1, name);
	monitor_parts_put(row, layout->side + 12, layout->columns - 1, value);
}

static double newtons(int64_t load_un)
{
	return (double)load_un / (double)UNITS_UN_PER_N;
}

static void quantity_text(
	enum shown_quantity quantity, bool inch_pound, double value, char *buffer, size_t size)
{
	struct text text;
	text_init(&text, buffer, size);
	shown_put(quantity, inch_pound, value, &text);
}

/* ---- the parts */

static void draw_head(const struct monitor_layout *layout, const struct monitor_press *press)
{
	char buffer[LINE_SIZE];
	struct text text;
	attron(A_REVERSE);
	mvhline(0, 0, ' ', layout->columns);
	text_init(&text, buffer, sizeof(buffer));
	text_format(&text, "ramplog  %s  %s", press->status.name, monitor_press_method(press));
	monitor_parts_put(0, LEFT, layout->columns / 2, buffer);
	if (press->has_live) {
		text_init(&text, buffer, sizeof(buffer));
		text_format(&text, "%s%s", words_phase(press->status.phase),
			press->status.reportable ? "" : ", not reportable");
		monitor_parts_put(0, layout->columns / 2, layout->columns, buffer);
	}
	text_init(&text, buffer, sizeof(buffer));
	if (press->status.run)
		text_format(&text, "run %" PRId64 "  ", press->status.run);
	if (press->has_live && press->status.phase != PHASE_IDLE) {
		text_fixed(&text, press->live.time.ns / (CLOCKS_NS_PER_S / 10), 1);
		text_put(&text, " s");
	}
	monitor_parts_put(0, layout->columns - LEFT - (int)text.length, layout->columns, buffer);
	attroff(A_REVERSE);
}

static void draw_load(const struct monitor_layout *layout, const struct monitor_press *press)
{
	bool inch_pound = monitor_press_inch_pound(press);
	char number[40] = "---";
	struct text text;
	if (press->has_live) {
		text_init(&text, number, sizeof(number));
		shown_number(SHOWN_LOAD, inch_pound, newtons(press->live.load_un), &text);
	}
	int lines = BIG_DIGITS_ROWS * (int)layout->scale;
	for (int i = 0; i < lines; i++) {
		char buffer[LINE_SIZE];
		text_init(&text, buffer, sizeof(buffer));
		big_digits_row(
			number, (size_t)i / layout->scale, layout->scale, layout->style, &text);
		monitor_parts_put(ROW_LOAD + i, LEFT + 1, layout->side, buffer);
	}
	int width = (int)(big_digits_width(number) * layout->scale);
	monitor_parts_put(ROW_LOAD + lines - 1, LEFT + 1 + width + 1, layout->side,
		shown_unit(SHOWN_LOAD, inch_pound)->text);
}

static void draw_side(const struct monitor_layout *layout, const struct monitor_press *press)
{
	bool inch_pound = monitor_press_inch_pound(press);
	const struct specimen *specimen = monitor_press_specimen(press);
	char buffer[LINE_SIZE];
	if (press->has_live) {
		quantity_text(SHOWN_LOAD, inch_pound, newtons(press->live.maximum_un), buffer,
			sizeof(buffer));
		put_named(layout, ROW_LOAD, "maximum", buffer);
		quantity_text(
			SHOWN_STRESS, inch_pound, press->live.stress_pa, buffer, sizeof(buffer));
		put_named(
			layout, ROW_LOAD + 1, "stress", press->live.stress_pa != 0 ? buffer : "-");
	}
	put_named(layout, ROW_LOAD + 2, "specimen", specimen ? specimen->id : "none seated");
	if (specimen && specimen->set[0])
		put_named(layout, ROW_LOAD + 3, "set", specimen->set);
	if (specimen && specimen->anticipated_pa > 0) {
		quantity_text(SHOWN_LOAD, inch_pound,
			specimen->anticipated_pa * specimen_area_m2(specimen), buffer,
			sizeof(buffer));
		put_named(layout, ROW_LOAD + 4, "anticipated", buffer);
	}
}

/* Nothing bears: what should be known of the press before the next run, the gravest first. */
static void draw_notices(const struct monitor_layout *layout, const struct monitor_press *press)
{
	char buffer[LINE_SIZE];
	const struct status_notices *notices = &press->status.notices;
	if (press->status.phase != PHASE_IDLE || notices->count == 0)
		return;
	attron(A_BOLD);
	for (size_t i = 0; i < notices->count && i < (size_t)(layout->rate - layout->advice); i++) {
		snprintf(buffer, sizeof(buffer), "! %s", notices->texts[i]);
		monitor_parts_put(layout->advice + (int)i, LEFT + 1, layout->columns, buffer);
	}
	attroff(A_BOLD);
}

static void draw_advice(const struct monitor_layout *layout, const struct monitor_press *press)
{
	char buffer[LINE_SIZE];
	const struct live *live = &press->live;
	if (!press->has_live || !live->text[0])
		return;
	snprintf(buffer, sizeof(buffer), live->warning ? " !! %s !! " : "%s", live->text);
	attr_t look = A_BOLD;
	if (live->warning)
		look |= A_REVERSE | (attr_t)COLOR_PAIR(MONITOR_PARTS_PAIR_WARNING);
	attron(look);
	monitor_parts_put(layout->advice, LEFT + 1, layout->columns, buffer);
	attroff(look);
}

static void draw_rate(const struct monitor_layout *layout, const struct monitor_press *press)
{
	bool inch_pound = monitor_press_inch_pound(press);
	const struct shown_unit *unit = shown_unit(SHOWN_RATE_LIVE, inch_pound);
	struct band_bar bar = {.places = unit->places};
	char number[LINE_SIZE] = "rate -", scale[LINE_SIZE], pointer[LINE_SIZE];
	struct text text, scale_text, pointer_text;
	/* While the specimen yields its rate is nobody's to correct: nothing invites to. */
	if (press->status.phase == PHASE_YIELDING ||
		!monitor_press_band(press, &bar.low, &bar.high))
		return;
	bar.low /= unit->si;
	bar.high /= unit->si;
	bar.has_value = press->has_live && press->live.has_rate;
	bar.value = press->live.rate_pa_s / unit->si;
	text_init(&text, number, sizeof(number));
	text_put(&text, "rate ");
	if (bar.has_value)
		shown_put(SHOWN_RATE_LIVE, inch_pound, press->live.rate_pa_s, &text);
	else
		text_format(&text, "- %s", unit->text);
	text_init(&scale_text, scale, sizeof(scale));
	text_init(&pointer_text, pointer, sizeof(pointer));
	int column = LEFT + 1 + 18;
	band_bar_draw(&bar, (size_t)(layout->columns - column - 2), layout->style, &scale_text,
		&pointer_text);
	monitor_parts_put(layout->rate, LEFT + 1, column, number);
	monitor_parts_put(layout->rate, column, layout->columns, scale);
	monitor_parts_put(layout->rate + 1, column, layout->columns, pointer);
	text_init(&text, number, sizeof(number));
	text_put(&text, "band ");
	text_fixed(&text, decimal_round_even(bar.low, 1, -bar.places), bar.places);
	text_put(&text, " to ");
	text_fixed(&text, decimal_round_even(bar.high, 1, -bar.places), bar.places);
	monitor_parts_put(layout->rate + 1, LEFT + 1, column, number);
}

/* The axes are chosen so that they stay: the time grows in steps, the load reaches what is
 * expected. */
static void fit_axes(struct plot *plot, double expected)
{
	static const double spans_s[] = {30, 60, 120, 180, 300, 600, 1200, 1800, 3600};
	double last = plot->count > 0 ? plot->points[plot->count - 1].x : 0, span = spans_s[0];
	double most = expected;
	for (size_t i = 0; i < sizeof(spans_s) / sizeof(*spans_s) && span < last; i++)
		span = spans_s[i];
	for (size_t i = 0; i < plot->count; i++)
		most = plot->points[i].y > most ? plot->points[i].y : most;
	axis_fit_tight(&plot->x, 0, span > last ? span : last, 6);
	axis_fit(&plot->y, 0, most, 6);
}

static void put_lines(int row, int column, int end, char *lines)
{
	char *rest = lines, *line;
	while ((line = strsep(&rest, "\n")) && rest)
		monitor_parts_put(row++, column, end, line);
}

static void draw_curve(const struct monitor_layout *layout, const struct monitor_press *press)
{
	bool inch_pound = monitor_press_inch_pound(press);
	const struct shown_unit *unit = shown_unit(SHOWN_LOAD, inch_pound);
	const struct specimen *specimen = monitor_press_specimen(press);
	struct plot_point points[MONITOR_TRACK_MAX];
	char lines[TEXT_PLOT_WIDTH_MOST * TEXT_PLOT_HEIGHT_MOST * 3];
	char title[60];
	struct text text;
	for (size_t i = 0; i < press->track_count; i++) {
		points[i].x = (double)press->track[i].time_ns / (double)CLOCKS_NS_PER_S;
		points[i].y = newtons(press->track[i].load_un) / unit->si;
	}
	double begins = press->has_live ? newtons(press->live.band_begins_un) / unit->si : 0;
	struct plot plot = {.title = title,
		.unit_x = "s",
		.points = points,
		.count = press->track_count,
		.has_band = begins > 0,
		.band_low = begins,
		.band_high = begins};
	double expected = specimen ? specimen->anticipated_pa * specimen_area_m2(specimen) : 0;
	snprintf(title, sizeof(title), "load, %s%s", unit->text,
		begins > 0 ? "  (dashed: the band begins)" : "");
	fit_axes(&plot, expected / unit->si);
	text_init(&text, lines, sizeof(lines));
	text_plot_draw(&plot, (size_t)(layout->side - LEFT - 2),
		(size_t)(layout->event - layout->curve), layout->style, &text);
	put_lines(layout->curve, LEFT, layout->side - 1, lines);
}

static void draw_result(
	const struct monitor_layout *layout, int row, const struct monitor_result *result)
{
	char line[LINE_SIZE], maximum[40], fracture[40];
	int end = layout->columns - 1;
	snprintf(fracture, sizeof(fracture), result->fracture ? "fracture %d" : "fracture -",
		result->fracture);
	int column = end - (int)strlen(fracture);
	snprintf(line, sizeof(line), "%-3" PRId64 " %s", result->run,
		result->specimen[0] ? result->specimen : "no specimen");
	monitor_parts_put(row, layout->side, column - 1, line);
	monitor_parts_put(row, column, end, fracture);
	quantity_text(SHOWN_LOAD, shown_inch_pound(result->method), result->maximum_newton, maximum,
		sizeof(maximum));
	snprintf(line, sizeof(line), "    %s  %s%s",
		result->strength[0] ? result->strength : maximum,
		result->end == END_BROKEN ? words_verdict(result->verdict) : end_text(result->end),
		result->reportable ? "" : " *");
	monitor_parts_put(row + 1, layout->side, end, line);
}

static void draw_results(const struct monitor_layout *layout, const struct monitor_press *press)
{
	enum { ROWS = 2 };
	int row = layout->curve;
	attron(A_UNDERLINE);
	monitor_parts_put(row++, layout->side, layout->columns - 1, "last results");
	attroff(A_UNDERLINE);
	if (press->result_count == 0)
		monitor_parts_put(row, layout->side, layout->columns - 1, "none yet");
	for (size_t i = 0; i < press->result_count && row + ROWS <= layout->event; i++) {
		draw_result(layout, row, &press->results[i]);
		row += ROWS;
	}
}

/* Nothing loaded: the last run may still wait for a person, or may be no result to report. */
static void draw_reminder(const struct monitor_layout *layout, const struct monitor_press *press)
{
	char line[LINE_SIZE];
	const struct monitor_result *last = &press->results[0];
	if (press->result_count == 0 || last->end != END_BROKEN)
		return;
	if (!last->fracture)
		snprintf(line, sizeof(line),
			"run %" PRId64 " waits for its fracture type: ramplog fracture %" PRId64
			" TYPE",
			last->run, last->run);
	else if (!last->reportable)
		snprintf(line, sizeof(line), "* run %" PRId64 " is not reportable: %s", last->run,
			last->why.text);
	else
		return;
	monitor_parts_put(layout->event, LEFT + 1, layout->columns, line);
}

/* The newest event of the run, or what is worse. */
static void draw_event(const struct monitor_layout *layout, const struct monitor_state *state,
	const struct monitor_press *press)
{
	char line[LINE_SIZE];
	struct text text;
	if (!state->durable) {
		attron(A_BOLD | A_REVERSE);
		monitor_parts_put(layout->event, LEFT + 1, layout->columns,
			" THE DISK TAKES NO READINGS: put this right before the next specimen ");
		attroff(A_BOLD | A_REVERSE);
		return;
	}
	if (press->status.phase == PHASE_IDLE) {
		draw_reminder(layout, press);
		return;
	}
	/* While it yields there is one thing to say, and the advice says it. */
	if (!press->has_event || press->status.phase == PHASE_YIELDING)
		return;
	text_init(&text, line, sizeof(line));
	text_put(&text, "at ");
	text_fixed(&text, press->event.time.ns / (CLOCKS_NS_PER_S / 10), 1);
	text_format(&text, " s: %s",
		press->event.text[0] ? press->event.text : event_kind_text(press->event.kind));
	monitor_parts_put(layout->event, LEFT + 1, layout->columns, line);
}

/* A cell can be ready and yet send what is of no use; then the daemon says so. */
static bool in_trouble(const struct status_cell *cell)
{
	return cell->state != CELL_READY || cell->text[0];
}

static void put_cells(const struct monitor_press *press, bool trouble, struct text *text)
{
	for (size_t i = 0; i < press->status.cell_count; i++) {
		const struct status_cell *cell = &press->status.cells[i];
		if (in_trouble(cell) == trouble)
			text_format(text, "cell %s %s%s%s  ", cell->name,
				status_cell_text(cell->state), cell->text[0] ? ": " : "",
				cell->text);
	}
}

/* Cells in trouble stand first, each with what the daemon says of it. */
static void draw_cells(const struct monitor_layout *layout, const struct monitor_press *press)
{
	char line[LINE_SIZE];
	struct text text;
	text_init(&text, line, sizeof(line));
	put_cells(press, true, &text);
	attr_t look = text.length > 0 ? A_BOLD | A_REVERSE : A_NORMAL;
	put_cells(press, false, &text);
	if (press->has_live && press->live.has_thrust)
		text_format(&text, "load %.1f mm off the centre",
			hypot((double)press->live.thrust_x_um, (double)press->live.thrust_y_um) *
				1e-3);
	attron(look);
	monitor_parts_put(layout->event + 1, LEFT + 1, layout->columns, line);
	attroff(look);
}

void monitor_parts_draw(const struct monitor_layout *layout, const struct monitor_state *state,
	const struct monitor_press *press)
{
	draw_head(layout, press);
	draw_load(layout, press);
	draw_side(layout, press);
	draw_curve(layout, press);
	draw_results(layout, press);
	if (!state->connected)
		return;
	draw_advice(layout, press);
	draw_notices(layout, press);
	draw_rate(layout, press);
	draw_event(layout, state, press);
	draw_cells(layout, press);
}
