/* SPDX-License-Identifier: MIT
 *
 * `ramplog trend`: how the rates lay in their bands, by press, technician or week; as a chart of
 * text, or on a page. Reads outcomes only, no readings.
 */
#include "commands.h"
#include "options.h"
#include "output.h"
#include "stored.h"
#include "table.h"
#include "trend_groups.h"

#include <langinfo.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
	STRIP_HALF_MOST = 20,  /* cells of the chart on either side of the middle ... */
	STRIP_HALF_LEAST = 12, /* ... and on a terminal of fewer columns than these */
	COLUMNS_WIDE = 100,
	CELL_SIZE = 160,
	PRESSES_MAX = 256, /* that are looked at for a creep */
	RUNS_LEAST = 5,    /* of a technician, before a habit is said of them */
};

/* The chart reaches from twice to twice the way from the middle to a limit. */
static const double strip_reach = 2;
/* A median beyond the limits: half of the group's runs went there. */
static const double limit = 1;

struct trend {
	const char *command;
	const char *database;
	const char *output; /* NULL: text */
	enum trend_by by;
	bool ascii;
	struct run_filter filter;
	struct store *store;
	struct trend_run *runs; /* owned */
	size_t count, room;
	bool no_memory;
	struct trend_group *technicians; /* owned; whatever the chart is by */
	size_t technician_count;
};

enum { KEY_BY = 256, KEY_FROM, KEY_BEFORE };

static const struct argp_option options[] = {
	{"by", KEY_BY, "WHAT", 0, "press, technician or week (the default)", 0},
	{"press", 'p', "PRESS", 0, "only runs of this press", 0},
	{"from", KEY_FROM, "TIME", 0, "only runs begun at this time or later", 0},
	{"before", KEY_BEFORE, "TIME", 0, "only runs begun before this time", 0},
	{"ascii", 'a', NULL, 0, "draw with ASCII characters only", 0},
	{0},
};

static void parse_by(struct argp_state *state, const char *typed, enum trend_by *by)
{
	static const char *const words[] = {"press", "technician", "week"};
	for (size_t i = 0; i < sizeof(words) / sizeof(*words); i++) {
		if (strcmp(typed, words[i]) == 0) {
			*by = (enum trend_by)i;
			return;
		}
	}
	argp_error(state, "--by press, technician or week, not '%s'", typed);
}

static void parse_time(
	struct argp_state *state, const char *what, const char *typed, struct utc_time *time)
{
	if (!clocks_utc_parse(typed, time))
		argp_error(state, "%s '%s' is no time such as 2026-11-25 or 2026-11-25T08:00Z",
			what, typed);
}

static error_t parse(int key, char *typed, struct argp_state *state)
{
	struct trend *trend = state->input;
	switch (key) {
	case ARGP_KEY_INIT:
		state->child_inputs[0] = &trend->database;
		state->child_inputs[1] = &trend->output;
		return 0;
	case KEY_BY:
		parse_by(state, typed, &trend->by);
		return 0;
	case 'p':
		options_name(state, "a press name", typed, trend->filter.press,
			sizeof(trend->filter.press));
		return 0;
	case KEY_FROM:
		parse_time(state, "--from", typed, &trend->filter.from);
		return 0;
	case KEY_BEFORE:
		parse_time(state, "--before", typed, &trend->filter.before);
		return 0;
	case 'a':
		trend->ascii = true;
		return 0;
	default:
		return ARGP_ERR_UNKNOWN;
	}
}

/* ---- gathering */

static bool take_row(void *context, const struct rate_row *row)
{
	struct trend *trend = context;
	if (trend->count == trend->room) {
		size_t room = trend->room ? 2 * trend->room : 256;
		struct trend_run *runs = realloc(trend->runs, room * sizeof(*runs));
		trend->no_memory = !runs;
		if (!runs)
			return false;
		trend->runs = runs;
		trend->room = room;
	}
	if (trend_run_of(&trend->runs[trend->count], row))
		trend->count++;
	return true;
}

/* ---- as text */

static int strip_half(void)
{
	return table_columns() < COLUMNS_WIDE ? STRIP_HALF_LEAST : STRIP_HALF_MOST;
}

static size_t strip_at(double place)
{
	double at = fmin(fmax(place / strip_reach, -1), 1) * strip_half();
	return (size_t)(strip_half() + (int)lround(at));
}

/* "-2        -1         0        +1        +2", each over its place. */
static void strip_head(char *text, size_t size)
{
	struct text head;
	text_init(&head, text, size);
	for (int place = -(int)strip_reach; place <= (int)strip_reach; place++) {
		char label[8];
		int length = snprintf(label, sizeof(label), place ? "%+d" : "0", place);
		size_t at = strip_at(place), first = place < 0 ? at : at + 1 - (size_t)length;
		while (head.length < first)
			text_put(&head, " ");
		text_put(&head, label);
	}
}

/* "....[---o--]...." with the medians of least and largest as a line, the mean on it. */
static void strip_text(const struct trend_group *group, bool ascii, char *text, size_t size)
{
	const char *const dot = ascii ? "." : "·", *const line = ascii ? "-" : "─";
	const char *const mean = ascii ? "o" : "●";
	size_t low = strip_at(group->low), high = strip_at(group->high);
	size_t from = strip_at(-limit), to = strip_at(limit);
	struct text strip;
	text_init(&strip, text, size);
	for (size_t i = 0; i <= strip_at(strip_reach); i++) {
		if (i == strip_at(group->mean))
			text_put(&strip, mean);
		else if (i == from || i == to)
			text_put(&strip, i == from ? "[" : "]");
		else
			text_put(&strip, i >= low && i <= high ? line : dot);
	}
}

static void range_text(const struct trend_group *group, char *text, size_t size)
{
	if (group->sets > 0)
		snprintf(text, size, "%.1f %%", group->range_percent);
	else
		snprintf(text, size, "-");
}

static const char *by_text(enum trend_by by)
{
	static const char *const words[] = {[TREND_BY_PRESS] = "press",
		[TREND_BY_TECHNICIAN] = "technician",
		[TREND_BY_WEEK] = "week"};
	return words[by];
}

static void put_row(struct table *table, const struct trend_group *group, bool ascii)
{
	char runs[24], in_band[24], mean[24], worst[48], strip[CELL_SIZE], range[24];
	snprintf(runs, sizeof(runs), "%zu", group->runs);
	snprintf(in_band, sizeof(in_band), "%.0f %%",
		100 * (double)group->in_band / (double)group->runs);
	snprintf(mean, sizeof(mean), "%+.2f", group->mean);
	snprintf(worst, sizeof(worst), "%+.1f %+.1f", group->lowest, group->highest);
	strip_text(group, ascii, strip, sizeof(strip));
	range_text(group, range, sizeof(range));
	const char *const cells[] = {group->name, runs, in_band, mean, strip, worst, range};
	for (size_t i = 0; i < sizeof(cells) / sizeof(*cells); i++)
		table_add(table, cells[i]);
}

/* ---- what stands out, in words; both kinds of chart end with it */

typedef void put_sentence(void *context, const char *sentence);

static void say_groups(
	const struct trend_group *groups, size_t count, put_sentence *put, void *context)
{
	char sentence[CELL_SIZE];
	for (size_t i = 0; i < count; i++) {
		const struct trend_group *group = &groups[i];
		if (group->high > limit) {
			snprintf(sentence, sizeof(sentence),
				"%s: half of the runs go above the band, typically to %+.2f",
				group->name, group->high);
			put(context, sentence);
		}
		if (group->low < -limit) {
			snprintf(sentence, sizeof(sentence),
				"%s: half of the runs fall below the band, typically to %+.2f",
				group->name, group->low);
			put(context, sentence);
		}
	}
}

static void say_creeps(const struct trend *trend, put_sentence *put, void *context)
{
	const char *presses[PRESSES_MAX];
	char sentence[CELL_SIZE];
	size_t count = 0;
	for (size_t i = 0; i < trend->count && count < PRESSES_MAX; i++) {
		const char *press = trend->runs[i].press;
		struct trend_creep creep;
		size_t seen = 0;
		while (seen < count && strcmp(presses[seen], press) != 0)
			seen++;
		if (seen < count)
			continue;
		presses[count++] = press;
		if (!trend_creep_of(trend->runs, trend->count, press, &creep))
			continue;
		snprintf(sentence, sizeof(sentence),
			"%s: the rate creeps %s, by %.2f a week, %.2f in %.1f weeks", press,
			creep.per_week > 0 ? "up" : "down", fabs(creep.per_week), fabs(creep.total),
			creep.weeks);
		put(context, sentence);
	}
}

/* Whose runs leave the band upwards as a habit, as they do where the changeover comes too late or
 * too fast. A chart by technician says it in any case. */
static void say_overshoots(const struct trend *trend, put_sentence *put, void *context)
{
	char sentence[CELL_SIZE];
	for (size_t i = 0; i < trend->technician_count && trend->by != TREND_BY_TECHNICIAN; i++) {
		const struct trend_group *technician = &trend->technicians[i];
		if (technician->runs < RUNS_LEAST || technician->unknown ||
			!(technician->high > limit))
			continue;
		snprintf(sentence, sizeof(sentence),
			"%s: half of the runs overshoot the band, typically to %+.2f",
			technician->name, technician->high);
		put(context, sentence);
	}
}

static void say_all(const struct trend *trend, const struct trend_group *groups, size_t count,
	put_sentence *put, void *context)
{
	say_groups(groups, count, put, context);
	say_overshoots(trend, put, context);
	say_creeps(trend, put, context);
}

static void print_sentence(void *context, const char *sentence)
{
	(void)context;
	puts(sentence);
}

static void print_groups(const struct trend *trend, const struct trend_group *groups, size_t count)
{
	char places[CELL_SIZE];
	strip_head(places, sizeof(places));
	const char *const heads[] = {
		by_text(trend->by), "runs", "in band", "mean", places, "worst", "range"};
	struct table table;
	table_init(&table, "lrrrlrr");
	for (size_t i = 0; i < sizeof(heads) / sizeof(*heads); i++)
		table_add(&table, heads[i]);
	for (size_t i = 0; i < count; i++)
		put_row(&table, &groups[i], trend->ascii);
	table_print(&table, stdout);
	table_finish(&table);
	say_all(trend, groups, count, print_sentence, NULL);
}

/* ---- on a page */

static const double page_width = 540, margin = 30, row_height = 15;
static const double name_width = 110, figures = 92, strip_width = 240;

static void draw_head(const struct trend *trend, struct page *page, double strip, double bottom)
{
	static const char *const places[] = {"-2", "-1", "0", "+1", "+2"};
	double half = strip_width / 2 / strip_reach, y = margin + 44;
	char title[CELL_SIZE];
	snprintf(title, sizeof(title), "Stress rates by %s", by_text(trend->by));
	page_text(page, PAGE_TITLE, PAGE_INK_TEXT, PAGE_LEFT, margin, margin + 14, title);
	page_text(page, PAGE_SMALL, PAGE_INK_QUIET, PAGE_LEFT, margin, margin + 26,
		"Place in the band: 0 is its middle, -1 and +1 its limits. Dot: mean; heavy line: "
		"medians of the runs' least and largest; thin line: worst.");
	page_area(page, PAGE_INK_BAND,
		(struct page_box){strip + half, y + 4, 2 * half, bottom - y - 4});
	for (size_t i = 0; i < sizeof(places) / sizeof(*places); i++) {
		double x = strip + half * (double)i;
		page_rule(page, PAGE_INK_RULE, 0.35, x, y + 4, x, bottom);
		page_text(page, PAGE_LABEL, PAGE_INK_QUIET, PAGE_MIDDLE, x, y, places[i]);
	}
	page_text(page, PAGE_SMALL, PAGE_INK_QUIET, PAGE_LEFT, margin, y, by_text(trend->by));
	page_text(
		page, PAGE_SMALL, PAGE_INK_QUIET, PAGE_RIGHT, margin + name_width + 24, y, "runs");
	page_text(page, PAGE_SMALL, PAGE_INK_QUIET, PAGE_RIGHT, margin + name_width + 68, y,
		"in band");
	page_text(page, PAGE_SMALL, PAGE_INK_QUIET, PAGE_RIGHT, page_width - margin, y, "range");
}

static double strip_x(double strip, double place)
{
	double reached = fmin(fmax(place / strip_reach, -1), 1);
	return strip + strip_width / 2 * (1 + reached);
}

static void draw_row(struct page *page, const struct trend_group *group, double strip, double y)
{
	char cell[CELL_SIZE];
	double middle = y - 3;
	bool met = group->low >= -limit && group->high <= limit;
	enum page_ink ink = met ? PAGE_INK_CURVE : PAGE_INK_ALERT;
	page_text(page, met ? PAGE_BODY : PAGE_STRONG, PAGE_INK_TEXT, PAGE_LEFT, margin, y,
		group->name);
	snprintf(cell, sizeof(cell), "%zu", group->runs);
	page_text(page, PAGE_BODY, PAGE_INK_TEXT, PAGE_RIGHT, margin + name_width + 24, y, cell);
	snprintf(cell, sizeof(cell), "%.0f %%", 100 * (double)group->in_band / (double)group->runs);
	page_text(page, PAGE_BODY, PAGE_INK_TEXT, PAGE_RIGHT, margin + name_width + 68, y, cell);
	range_text(group, cell, sizeof(cell));
	page_text(page, PAGE_BODY, PAGE_INK_TEXT, PAGE_RIGHT, page_width - margin, y, cell);
	page_rule(page, ink, 0.6, strip_x(strip, group->lowest), middle,
		strip_x(strip, group->highest), middle);
	page_rule(page, ink, 2.2, strip_x(strip, group->low), middle, strip_x(strip, group->high),
		middle);
	page_dot(page, ink, strip_x(strip, group->mean), middle, 2.6);
}

struct sentences {
	struct page *page;
	double y;
};

static void draw_sentence(void *context, const char *sentence)
{
	struct sentences *sentences = context;
	sentences->y = page_paragraph(sentences->page, PAGE_STRONG, PAGE_INK_TEXT, margin,
		sentences->y, page_width - 2 * margin, sentence);
}

static void count_sentence(void *context, const char *sentence)
{
	(void)sentence;
	++*(size_t *)context;
}

static struct page *draw_groups(
	const struct trend *trend, const struct trend_group *groups, size_t count)
{
	size_t said = 0;
	say_all(trend, groups, count, count_sentence, &said);
	double strip = margin + name_width + figures;
	double bottom = margin + 52 + row_height * (double)count;
	/* A sentence may take two lines. */
	double height = bottom + margin + 2 * page_leading(PAGE_STRONG) * (double)said;
	struct page *page = page_create(page_width, height);
	if (!page)
		return NULL;
	draw_head(trend, page, strip, bottom);
	for (size_t i = 0; i < count; i++)
		draw_row(page, &groups[i], strip, margin + 60 + row_height * (double)i);
	struct sentences sentences = {page, bottom + 16};
	say_all(trend, groups, count, draw_sentence, &sentences);
	return page;
}

/* ---- the command */

static int put_groups(const struct trend *trend, const struct trend_group *groups, size_t count)
{
	enum page_format format;
	const struct page_about about = {"Stress rates", ""};
	if (!trend->output) {
		print_groups(trend, groups, count);
		return EXIT_DONE;
	}
	if (!output_format(trend->command, trend->output, &format))
		return EXIT_CANNOT;
	struct page *page = draw_groups(trend, groups, count);
	return output_page(trend->command, trend->output, format, page, &about);
}

static int make_trend(struct trend *trend)
{
	struct trend_group *groups;
	size_t count;
	enum store_status status = store_rates_each(trend->store, &trend->filter, take_row, trend);
	if (status != STORE_OK)
		return stored_failed(trend->command, trend->store, status);
	if (trend->no_memory ||
		!trend_groups(trend->runs, trend->count, TREND_BY_TECHNICIAN, &trend->technicians,
			&trend->technician_count) ||
		!trend_groups(trend->runs, trend->count, trend->by, &groups, &count)) {
		fprintf(stderr, "%s: out of memory\n", trend->command);
		return EXIT_CANNOT;
	}
	int code = count > 0 ? put_groups(trend, groups, count) : EXIT_NO;
	if (count == 0)
		fprintf(stderr, "%s: no run with a judged rate matches\n", trend->command);
	free(groups);
	return code;
}

int trend_main(int argc, char **argv)
{
	const struct argp_child children[] = {
		{&options_database, 0, NULL, 0}, {&output_argp, 0, NULL, 0}, {0}};
	const struct argp argp = {options, parse, "",
		"Shows how the stress rates lay in their bands, by press, technician or week, and "
		"which press creeps.",
		children, NULL, NULL};
	struct trend trend = {.command = argv[0], .by = TREND_BY_WEEK};
	argp_parse(&argp, argc, argv, 0, NULL, &trend);
	trend.ascii = trend.ascii || strcmp(nl_langinfo(CODESET), "UTF-8") != 0;
	int code = stored_open(trend.command, trend.database, &trend.store);
	if (code != EXIT_DONE)
		return code;
	code = make_trend(&trend);
	free(trend.runs);
	free(trend.technicians);
	store_close(trend.store);
	return code;
}
