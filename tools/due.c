/* SPDX-License-Identifier: MIT
 *
 * `ramplog due`: which specimens are to be tested: overdue, today, tomorrow, later; or all of it as
 * a calendar.
 */
#include "commands.h"
#include "day.h"
#include "now.h"
#include "options.h"
#include "result/calendar.h"
#include "stored.h"
#include "table.h"
#include "words.h"

#include <stdlib.h>
#include <string.h>

enum { KEY_ALL = 256, KEY_ICAL, KEY_AT };

enum when { OVERDUE, TODAY, TOMORROW, LATER };

struct asked {
	const char *command, *database;
	bool all, calendar, json;
	struct utc_time now;
	struct due_row *rows; /* owned */
	size_t count, room;
};

static const struct argp_option options[] = {
	{"all", KEY_ALL, NULL, 0, "also what is due later", 2},
	{"ical", KEY_ICAL, NULL, 0, "write everything as a calendar (iCalendar, RFC 5545)", 2},
	{"at", KEY_AT, "TIME", 0, "as of this time, ISO 8601 with its zone, instead of now", 2},
	{0},
};

static error_t parse(int key, char *typed, struct argp_state *state)
{
	struct asked *asked = state->input;
	switch (key) {
	case ARGP_KEY_INIT:
		state->child_inputs[0] = &asked->database;
		state->child_inputs[1] = &asked->json;
		return 0;
	case KEY_ALL:
		asked->all = true;
		return 0;
	case KEY_ICAL:
		asked->calendar = true;
		return 0;
	case KEY_AT:
		if (!clocks_utc_parse(typed, &asked->now))
			argp_error(state, "--at '%s' is no ISO 8601 time with its zone", typed);
		return 0;
	case ARGP_KEY_ARG:
		argp_error(state, "'%s' is one word too many", typed);
		return 0;
	default:
		return ARGP_ERR_UNKNOWN;
	}
}

static bool take_row(void *context, const struct due_row *row)
{
	struct asked *asked = context;
	if (asked->count == asked->room) {
		size_t room = asked->room ? 2 * asked->room : 64;
		struct due_row *rows = realloc(asked->rows, room * sizeof *rows);
		if (!rows)
			return false;
		asked->rows = rows;
		asked->room = room;
	}
	asked->rows[asked->count++] = *row;
	return true;
}

static struct age_due due_of(const struct due_row *row)
{
	const struct method *method = method_find(row->specimen.method);
	struct utc_time at = {row->specimen.cast.ns + row->intended_age_ns};
	return method ? age_due(method, row->specimen.cast, row->intended_age_ns)
		      : (struct age_due){at, at, at};
}

static int by_time(const void *a, const void *b)
{
	const struct due_row *left = a, *right = b;
	int64_t one = due_of(left).at.ns, other = due_of(right).at.ns;
	if (one != other)
		return one < other ? -1 : 1;
	return strcmp(left->specimen.id, right->specimen.id);
}

/* Overdue is what the tolerance no longer covers. */
static enum when when_due(const struct asked *asked, const struct age_due *due)
{
	if (due->until.ns < asked->now.ns)
		return OVERDUE;
	if (due->at.ns < day_begins_ns(asked->now, 1))
		return TODAY;
	return due->at.ns < day_begins_ns(asked->now, 2) ? TOMORROW : LATER;
}

static const char *const whens[] = {"OVERDUE", "today", "tomorrow", "later"};

static bool put_table(const struct asked *asked, size_t *shown)
{
	static const char *const heads[] = {"", "from", "until", "age", "specimen", "set"};
	bool good = true;
	struct table table;
	table_init(&table, "lllrww");
	for (size_t i = 0; i < sizeof heads / sizeof heads[0]; i++)
		good = table_add(&table, heads[i]) && good;
	*shown = 0;
	for (size_t i = 0; i < asked->count; i++) {
		const struct due_row *row = &asked->rows[i];
		const struct age_due due = due_of(row);
		enum when when = when_due(asked, &due);
		char from[CLOCKS_UTC_TEXT_SIZE];
		char until[CLOCKS_UTC_TEXT_SIZE], age[AGE_TEXT_SIZE];
		if (when == LATER && !asked->all)
			continue;
		words_minute(due.from, from);
		words_minute(due.until, until);
		age_text(row->intended_age_ns, age);
		const char *const cells[] = {
			whens[when], from, until, age, row->specimen.id, row->specimen.set};
		for (size_t j = 0; j < sizeof cells / sizeof cells[0]; j++)
			good = table_add(&table, cells[j]) && good;
		++*shown;
	}
	if (*shown > 0)
		table_print(&table, stdout);
	table_finish(&table);
	return good;
}

static json_t *rows_json(const struct asked *asked, size_t *shown)
{
	json_t *list = json_array();
	*shown = 0;
	for (size_t i = 0; i < asked->count; i++) {
		const struct due_row *row = &asked->rows[i];
		const struct age_due due = due_of(row);
		enum when when = when_due(asked, &due);
		char at[CLOCKS_UTC_TEXT_SIZE], from[CLOCKS_UTC_TEXT_SIZE];
		char until[CLOCKS_UTC_TEXT_SIZE];
		if (when == LATER && !asked->all)
			continue;
		clocks_utc_text(due.at, at);
		clocks_utc_text(due.from, from);
		clocks_utc_text(due.until, until);
		json_array_append_new(list,
			json_pack("{s:s, s:s, s:s, s:s, s:s, s:s, s:f}", "specimen",
				row->specimen.id, "set", row->specimen.set, "when",
				when == OVERDUE ? "overdue" : whens[when], "due", at, "from", from,
				"until", until, "age_h", (double)row->intended_age_ns / 3600e9));
		++*shown;
	}
	return list;
}

static bool put_calendar(const struct asked *asked)
{
	char buffer[CALENDAR_EVENT_SIZE];
	struct text text;
	bool good = true;
	text_init(&text, buffer, sizeof buffer);
	calendar_begin(&text);
	fputs(buffer, stdout);
	for (size_t i = 0; i < asked->count && good; i++) {
		text_init(&text, buffer, sizeof buffer);
		calendar_event(&text, &asked->rows[i].specimen, asked->rows[i].intended_age_ns,
			asked->now);
		good = !text.overflow;
		fputs(buffer, stdout);
	}
	text_init(&text, buffer, sizeof buffer);
	calendar_end(&text);
	fputs(buffer, stdout);
	return good;
}

static int put(const struct asked *asked)
{
	size_t shown = 0;
	int code = EXIT_DONE;
	if (asked->calendar)
		return put_calendar(asked) ? EXIT_DONE : EXIT_CANNOT;
	if (asked->json)
		code = stored_put_json(asked->command, rows_json(asked, &shown));
	else if (!put_table(asked, &shown))
		code = EXIT_CANNOT;
	if (code != EXIT_DONE || shown > 0)
		return code;
	fprintf(stderr, "%s: nothing is due today or tomorrow, nothing is overdue\n",
		asked->command);
	return EXIT_NO;
}

int due_main(int argc, char **argv)
{
	const struct argp_child children[] = {
		{&options_database, 0, NULL, 0}, {&options_json, 0, NULL, 0}, {0}};
	const struct argp argp = {options, parse, NULL,
		"Lists the specimens that are overdue, due today or due tomorrow: those that were "
		"registered with --cast and --age and not tested yet.",
		children, NULL, NULL};
	struct asked asked = {.command = argv[0], .now = now()};
	struct store *store;
	argp_parse(&argp, argc, argv, 0, NULL, &asked);
	int code = stored_open(asked.command, asked.database, &store);
	if (code != EXIT_DONE)
		return code;
	enum store_status status = store_due_each(store, take_row, &asked);
	if (status == STORE_OK) {
		if (asked.count > 0)
			qsort(asked.rows, asked.count, sizeof *asked.rows, by_time);
		code = put(&asked);
	} else {
		code = stored_failed(asked.command, store, status);
	}
	store_close(store);
	free(asked.rows);
	return code;
}
