/* SPDX-License-Identifier: MIT
 *
 * 80 x 24 at the least; larger terminals give the curve the room, and the load larger digits.
 *
 *     row 0        press, phase, run and time
 *     rows 2-6     the load in large digits; beside it the maximum, the stress, the specimen
 *     row 8        the advice, in the daemon's words
 *     rows 10, 11  the rate against its band
 *     rows 12-     the curve so far; beside it the last results
 *     last three   the newest event, the cells, the keys
 */
#include "monitor_screen.h"

#include "draw/band_bar.h"
#include "draw/big_digits.h"
#include "draw/shown.h"
#include "draw/text_plot.h"
#include "words.h"

#include <curses.h>
#include <inttypes.h>
#include <langinfo.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

enum {
	COLUMNS_LEAST = 80,
	ROWS_LEAST = 24,
	LEFT = 1,
	SIDE_WIDTH = 30,
	ROW_LOAD = 2,
	LINE_SIZE = 1024, /* bytes; a line of the widest terminal in UTF-8 */
	ESCAPE_DELAY_MS = 25,
	PAIR_WARNING = 1,
	LARGE_COLUMNS = 140, /* from here on the digits are twice as large */
	LARGE_ROWS = 40,
};

/* Where the parts stand on a terminal of this size. */
struct layout {
	int rows, columns;
	size_t scale; /* of the large digits */
	int side;     /* first column of the right-hand side */
	int advice, rate, curve, event;
	enum text_plot_style style;
};

static struct layout lay_out(void)
{
	struct layout layout = {.rows = LINES, .columns = COLS};
	layout.scale = COLS >= LARGE_COLUMNS && LINES >= LARGE_ROWS ? 2 : 1;
	layout.side = COLS - SIDE_WIDTH;
	layout.advice = ROW_LOAD + BIG_DIGITS_ROWS * (int)layout.scale + 1;
	layout.rate = layout.advice + 2;
	layout.curve = layout.rate + 2;
	layout.event = LINES - 3;
	layout.style =
		strcmp(nl_langinfo(CODESET), "UTF-8") == 0 ? TEXT_PLOT_UTF8 : TEXT_PLOT_ASCII;
	return layout;
}

bool monitor_screen_open(FILE *out, FILE *in, struct message *why)
{
	/* initscr() ends the program where it does not know the terminal; newterm() does not. */
	if (!newterm(NULL, out, in))
		return message_set(why,
			"the terminal type '%s' is not known here; use --plain, or set TERM",
			getenv("TERM") ? getenv("TERM") : "");
	set_escdelay(ESCAPE_DELAY_MS);
	cbreak();
	noecho();
	nodelay(stdscr, TRUE);
	keypad(stdscr, TRUE);
	curs_set(0);
	const char *no_color = getenv("NO_COLOR");
	if (!(no_color && no_color[0]) && has_colors()) {
		start_color();
		use_default_colors();
		init_pair(PAIR_WARNING, COLOR_YELLOW, -1);
	}
	return true;
}

void monitor_screen_close(void)
{
	endwin();
}

void monitor_screen_resize(void)
{
	struct winsize size;
	if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_row > 0 && size.ws_col > 0)
		resizeterm(size.ws_row, size.ws_col);
	clearok(curscr, TRUE);
}

enum monitor_key monitor_screen_key(void)
{
	switch (getch()) {
	case ERR:
		return MONITOR_KEY_NONE;
	case 'q':
	case 'Q':
		return MONITOR_KEY_QUIT;
	case '?':
	case 'h':
		return MONITOR_KEY_HELP;
	case '\t':
		return MONITOR_KEY_NEXT;
	default:
		return MONITOR_KEY_OTHER;
	}
}

/* ---- pieces */

/* A text at a place, cut at the given column; bytes that would spoil the screen are left out. */
static void put_at(int row, int column, int end, const char *text)
{
	wchar_t wide[LINE_SIZE];
	size_t count = mbstowcs(wide, text, LINE_SIZE - 1);
	if (count == (size_t)-1 || column >= end)
		return;
	wide[count] = L'\0';
	for (size_t i = 0; i < count; i++) {
		if (wide[i] < L' ')
			wide[i] = L' ';
	}
	/* Columns, not characters: some characters are two columns wide. */
	while (count > 0 && wcswidth(wide, count) > end - column)
		wide[--count] = L'\0';
	mvaddwstr(row, column, wide);
}

static void put_named(const struct layout *layout, int row, const char *name, const char *value)
{
	put_at(row, layout->side, layout->columns - 1, name);
	put_at(row, layout->side + 10, layout->columns - 1, value);
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

static const char *phase_words(enum phase phase)
{
	switch (phase) {
	case PHASE_IDLE:
		return "idle";
	case PHASE_SEATING:
		return "seating";
	case PHASE_FIRST_HALF:
		return "first half";
	case PHASE_LATTER_HALF:
		return "latter half";
	case PHASE_YIELDING:
		return "yielding";
	case PHASE_DECLINING:
		return "declining";
	case PHASE_RELEASED:
		return "released";
	}
	return "";
}

/* ---- the parts */

static void draw_head(const struct layout *layout, const struct monitor_press *press)
{
	char buffer[LINE_SIZE];
	struct text text;
	attron(A_REVERSE);
	mvhline(0, 0, ' ', layout->columns);
	text_init(&text, buffer, sizeof(buffer));
	text_format(&text, "ramplog  %s  %s", press->status.name, monitor_press_method(press));
	put_at(0, LEFT, layout->columns / 2, buffer);
	if (press->has_live)
		put_at(0, layout->columns / 2, layout->columns, phase_words(press->status.phase));
	text_init(&text, buffer, sizeof(buffer));
	if (press->status.run)
		text_format(&text, "run %" PRId64 "  ", press->status.run);
	if (press->has_live && press->status.phase != PHASE_IDLE) {
		text_fixed(&text, press->live.time.ns / (CLOCKS_NS_PER_S / 10), 1);
		text_put(&text, " s");
	}
	put_at(0, layout->columns - LEFT - (int)text.length, layout->columns, buffer);
	attroff(A_REVERSE);
}

static void draw_load(const struct layout *layout, const struct monitor_press *press)
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
		put_at(ROW_LOAD + i, LEFT + 1, layout->side, buffer);
	}
	int width = (int)(big_digits_width(number) * layout->scale);
	put_at(ROW_LOAD + lines - 1, LEFT + 1 + width + 1, layout->side,
		shown_unit(SHOWN_LOAD, inch_pound)->text);
}

static void draw_side(const struct layout *layout, const struct monitor_press *press)
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
		put_named(layout, ROW_LOAD + 4, "expected", buffer);
	}
}

static void draw_advice(const struct layout *layout, const struct monitor_press *press)
{
	char buffer[LINE_SIZE];
	const struct live *live = &press->live;
	if (!press->has_live || !live->text[0])
		return;
	snprintf(buffer, sizeof(buffer), live->warning ? " !! %s !! " : "%s", live->text);
	attr_t look = A_BOLD;
	if (live->warning)
		look |= A_REVERSE | (attr_t)COLOR_PAIR(PAIR_WARNING);
	attron(look);
	put_at(layout->advice, LEFT + 1, layout->columns, buffer);
	attroff(look);
}

static void draw_rate(const struct layout *layout, const struct monitor_press *press)
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
	put_at(layout->rate, LEFT + 1, column, number);
	put_at(layout->rate, column, layout->columns, scale);
	put_at(layout->rate + 1, column, layout->columns, pointer);
	text_init(&text, number, sizeof(number));
	text_put(&text, "band ");
	text_fixed(&text, decimal_round_even(bar.low, 1, -bar.places), bar.places);
	text_put(&text, " to ");
	text_fixed(&text, decimal_round_even(bar.high, 1, -bar.places), bar.places);
	put_at(layout->rate + 1, LEFT + 1, column, number);
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
		put_at(row++, column, end, line);
}

static void draw_curve(const struct layout *layout, const struct monitor_press *press)
{
	bool inch_pound = monitor_press_inch_pound(press);
	const struct shown_unit *unit = shown_unit(SHOWN_LOAD, inch_pound);
	const struct specimen *specimen = monitor_press_specimen(press);
	struct plot_point points[MONITOR_TRACK_MAX];
	static char lines[TEXT_PLOT_WIDTH_MOST * TEXT_PLOT_HEIGHT_MOST * 3];
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

static void draw_result(const struct layout *layout, int row, const struct monitor_result *result)
{
	char line[LINE_SIZE], maximum[40], fracture[40];
	int end = layout->columns - 1;
	snprintf(fracture, sizeof(fracture), result->fracture ? "fracture %d" : "fracture -",
		result->fracture);
	int column = end - (int)strlen(fracture);
	snprintf(line, sizeof(line), "%-3" PRId64 " %s", result->run,
		result->specimen[0] ? result->specimen : "no specimen");
	put_at(row, layout->side, column - 1, line);
	put_at(row, column, end, fracture);
	quantity_text(SHOWN_LOAD, shown_inch_pound(result->method), result->maximum_newton, maximum,
		sizeof(maximum));
	snprintf(line, sizeof(line), "    %s  %s", result->strength[0] ? result->strength : maximum,
		result->end == END_BROKEN ? words_verdict(result->verdict) : end_text(result->end));
	put_at(row + 1, layout->side, end, line);
}

static void draw_results(const struct layout *layout, const struct monitor_press *press)
{
	enum { ROWS = 2 };
	int row = layout->curve;
	attron(A_UNDERLINE);
	put_at(row++, layout->side, layout->columns - 1, "last results");
	attroff(A_UNDERLINE);
	if (press->result_count == 0)
		put_at(row, layout->side, layout->columns - 1, "none yet");
	for (size_t i = 0; i < press->result_count && row + ROWS <= layout->event; i++) {
		draw_result(layout, row, &press->results[i]);
		row += ROWS;
	}
}

/* Nothing loaded: the last run may still wait for a person. */
static void draw_reminder(const struct layout *layout, const struct monitor_press *press)
{
	char line[LINE_SIZE];
	const struct monitor_result *last = &press->results[0];
	if (press->result_count == 0 || last->fracture || last->end != END_BROKEN)
		return;
	snprintf(line, sizeof(line),
		"run %" PRId64 " waits for its fracture type: ramplog fracture %" PRId64 " TYPE",
		last->run, last->run);
	put_at(layout->event, LEFT + 1, layout->columns, line);
}

/* The newest event of the run, or what is worse. */
static void draw_event(const struct layout *layout, const struct monitor_state *state,
	const struct monitor_press *press)
{
	char line[LINE_SIZE];
	struct text text;
	if (!state->durable) {
		attron(A_BOLD | A_REVERSE);
		put_at(layout->event, LEFT + 1, layout->columns,
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
	put_at(layout->event, LEFT + 1, layout->columns, line);
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
static void draw_cells(const struct layout *layout, const struct monitor_press *press)
{
	char line[LINE_SIZE];
	struct text text;
	text_init(&text, line, sizeof(line));
	put_cells(press, true, &text);
	attr_t look = text.length > 0 ? A_BOLD | A_REVERSE : A_NORMAL;
	put_cells(press, false, &text);
	attron(look);
	put_at(layout->event + 1, LEFT + 1, layout->columns, line);
	attroff(look);
}

static void draw_keys(const struct layout *layout, const struct monitor_state *state)
{
	char line[LINE_SIZE];
	snprintf(line, sizeof(line), "q quit   ? help and cautions%s",
		state->press_count > 1 ? "   Tab next press" : "");
	put_at(layout->rows - 1, LEFT + 1, layout->columns, line);
}

static void draw_away(const struct layout *layout, const struct monitor_state *state)
{
	char line[LINE_SIZE];
	snprintf(line, sizeof(line), " NO LIVE DATA: %s ", state->away.text);
	attron(A_BOLD | A_REVERSE);
	put_at(layout->advice, LEFT + 1, layout->columns, line);
	attroff(A_BOLD | A_REVERSE);
	put_at(layout->advice + 1, LEFT + 2, layout->columns,
		"what the press does now is not seen here; trying again");
}

static void draw_press(const struct layout *layout, const struct monitor_state *state,
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
	draw_rate(layout, press);
	draw_event(layout, state, press);
	draw_cells(layout, press);
}

/* True when the terminal is large enough; else it says so. */
static bool large_enough(void)
{
	char line[LINE_SIZE];
	if (LINES >= ROWS_LEAST && COLS >= COLUMNS_LEAST)
		return true;
	snprintf(line, sizeof(line), "needs %d x %d, this is %d x %d", COLUMNS_LEAST, ROWS_LEAST,
		COLS, LINES);
	put_at(0, 0, COLS, line);
	put_at(1, 0, COLS, "enlarge it, or q and --plain");
	return false;
}

void monitor_screen_draw(const struct monitor_state *state)
{
	const struct layout layout = lay_out();
	const struct monitor_press *press = monitor_state_shown(state);
	erase();
	if (large_enough()) {
		if (press)
			draw_press(&layout, state, press);
		if (!state->connected)
			draw_away(&layout, state);
		else if (!press)
			put_at(layout.advice, LEFT + 1, COLS,
				state->known ? "the daemon has no press; see its configuration"
					     : "connected; waiting for the daemon's first word");
		draw_keys(&layout, state);
	}
	refresh();
}

void monitor_screen_draw_help(void)
{
	static const char *const lines[] = {
		"ramplog monitor",
		"",
		"  q    quit (the daemon goes on recording)",
		"  Tab  the next press",
		"  ?    this page; any key leaves it",
		"",
		"The bar shows the stress rate: the band that must hold stands between [ and ],",
		"the pointer below it is the rate now. The band must hold in the latter half;",
		"while the specimen yields, leave the valve alone.",
		"",
		"Cautions",
		"  Breaking concrete hurts people: it throws fragments, without warning.",
		"  Keep the guard closed and wear eye protection whenever there is load.",
		"  Keep your hands out from between the platens and stand aside.",
		"  A cracked specimen that still stands under load can let go late.",
		"  ramplog only listens to the press. It never drives it, it stops nothing, and",
		"  nothing shown here means that it is safe to reach in.",
		"  The press maker's instructions, local rules and licensed practice go first.",
	};
	erase();
	for (size_t i = 0; i < sizeof(lines) / sizeof(*lines); i++)
		put_at((int)i + 1, LEFT + 1, COLS, lines[i]);
	refresh();
}
