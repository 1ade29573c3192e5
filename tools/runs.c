/* SPDX-License-Identifier: MIT
 *
 * `ramplog runs`: the stored runs as a table or as JSON, oldest first; with --limit the newest
 * ones.
 */
#include "commands.h"
#include "draw/shown.h"
#include "options.h"
#include "stored.h"
#include "table.h"
#include "words.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

struct runs {
	const char *command;
	const char *database;
	bool json;
	struct run_filter filter;
	struct run_row *rows; /* owned; newest first */
	size_t count, capacity;
	bool no_memory;
};

enum { KEY_FROM = 256, KEY_BEFORE, KEY_SET, KEY_SORT };

static const struct argp_option options[] = {
	{"press", 'p', "PRESS", 0, "only runs of this press", 0},
	{"specimen", 'i', "ID", 0, "only runs of this specimen", 0},
	{"set", KEY_SET, "SET", 0, "only runs of this set of companions", 0},
	{"from", KEY_FROM, "TIME", 0, "only runs started at this time or later (ISO 8601)", 0},
	{"before", KEY_BEFORE, "TIME", 0, "only runs started before this time", 0},
	{"verdict", 'v', "VERDICT", 0, "only in_band, out_of_band or undetermined", 0},
	{"sort", KEY_SORT, "COLUMN", 0,
		"by run (the default), started, maximum or strength, the largest last", 0},
	{"limit", 'n', "COUNT", 0, "only the newest COUNT of them", 0},
	{0},
};

static void parse_time(
	struct argp_state *state, const char *what, const char *typed, struct utc_time *time)
{
	if (!clocks_utc_parse(typed, time))
		argp_error(state,
			"%s '%s' is no ISO 8601 time like 2026-03-02 or "
			"2026-03-02T14:05+01:00",
			what, typed);
}

static void parse_sort(struct argp_state *state, const char *typed, enum run_sort *sort)
{
	static const char *const names[] = {
		[SORT_RUN] = "run",
		[SORT_STARTED] = "started",
		[SORT_MAXIMUM] = "maximum",
		[SORT_STRENGTH] = "strength",
	};
	for (size_t i = 0; i < sizeof(names) / sizeof(*names); i++) {
		if (strcmp(names[i], typed) == 0) {
			*sort = (enum run_sort)i;
			return;
		}
	}
	argp_error(state, "--sort is run, started, maximum or strength, not '%s'", typed);
}

static error_t parse(int key, char *typed, struct argp_state *state)
{
	struct runs *runs = state->input;
	struct run_filter *filter = &runs->filter;
	switch (key) {
	case ARGP_KEY_INIT:
		state->child_inputs[0] = &runs->database;
		state->child_inputs[1] = &runs->json;
		return 0;
	case 'p':
		options_name(state, "a press name", typed, filter->press, sizeof(filter->press));
		return 0;
	case 'i':
		options_name(
			state, "a specimen id", typed, filter->specimen, sizeof(filter->specimen));
		return 0;
	case KEY_SET:
		options_name(state, "a set name", typed, filter->set, sizeof(filter->set));
		return 0;
	case KEY_FROM:
		parse_time(state, "--from", typed, &filter->from);
		return 0;
	case KEY_BEFORE:
		parse_time(state, "--before", typed, &filter->before);
		return 0;
	case 'v':
		if (!verdict_parse(typed, &filter->verdict) || filter->verdict == VERDICT_NONE)
			argp_error(state,
				"a verdict is in_band, out_of_band or undetermined, "
				"not '%s'",
				typed);
		return 0;
	case KEY_SORT:
		parse_sort(state, typed, &filter->sort);
		return 0;
	case 'n':
		filter->limit = (size_t)options_number(state, "--limit", typed);
		return 0;
	default:
		return ARGP_ERR_UNKNOWN;
	}
}

static bool take_row(void *context, const struct run_row *row)
{
	struct runs *runs = context;
	if (runs->count == runs->capacity) {
		size_t capacity = runs->capacity ? runs->capacity * 2 : 64;
		struct run_row *rows = realloc(runs->rows, capacity * sizeof(*rows));
		if (!rows) {
			runs->no_memory = true;
			return false;
		}
		runs->rows = rows;
		runs->capacity = capacity;
	}
	runs->rows[runs->count++] = *row;
	return true;
}

static void add_row(struct table *table, const struct run_row *row)
{
	char number[24], started[CLOCKS_UTC_TEXT_SIZE], maximum[40] = "-", fracture[12] = "-";
	bool marked = row->closed && !standing_reportable(&row->standing, row->maximum_un, NULL);
	snprintf(number, sizeof(number), "%s%" PRId64, marked ? "*" : "", row->run);
	words_minute(row->started, started);
	if (row->closed) {
		struct text text;
		text_init(&text, maximum, sizeof(maximum));
		shown_put(SHOWN_LOAD, shown_inch_pound(row->method),
			(double)row->maximum_un / (double)UNITS_UN_PER_N, &text);
	}
	if (row->fracture)
		snprintf(fracture, sizeof(fracture), "%d", row->fracture);
	/* As corrected and, in brackets, as it was at first. */
	char strength[2 * OUTCOME_REPORTED_SIZE + 8] = "-", end[24];
	char specimen[2 * STORE_NAME_SIZE + 4];
	snprintf(specimen, sizeof(specimen), "%s", row->specimen[0] ? row->specimen : "-");
	if (row->corrected && strcmp(row->specimen_corrected, row->specimen) != 0)
		snprintf(specimen, sizeof(specimen), "%s (%s)", row->specimen_corrected,
			row->specimen[0] ? row->specimen : "-");
	if (row->corrected)
		snprintf(strength, sizeof(strength), "%s (%s)", row->strength_corrected,
			row->strength_reported[0] ? row->strength_reported : "-");
	else if (row->closed && row->strength_reported[0])
		snprintf(strength, sizeof(strength), "%s", row->strength_reported);
	snprintf(end, sizeof(end), "%s%s", row->voided ? "VOID, " : "",
		row->closed ? end_text(row->end) : "not closed");
	char verdict[60];
	snprintf(verdict, sizeof(verdict), "%s", row->closed ? words_verdict(row->verdict) : "-");
	if (row->corrected && row->verdict_corrected != row->verdict)
		snprintf(verdict, sizeof(verdict), "%s (%s)", words_verdict(row->verdict_corrected),
			words_verdict(row->verdict));
	const char *const cells[] = {
		number, started, row->press, specimen, maximum, strength, verdict, end, fracture};
	for (size_t i = 0; i < sizeof(cells) / sizeof(*cells); i++)
		table_add(table, cells[i]);
}

/* Below the table: what is marked in it, and why. */
static void put_marked(const struct runs *runs)
{
	for (size_t i = runs->count; i > 0; i--) {
		const struct run_row *row = &runs->rows[i - 1];
		struct message why;
		if (!row->closed || standing_reportable(&row->standing, row->maximum_un, &why))
			continue;
		printf("* run %" PRId64 " is not reportable: %s\n", row->run, why.text);
	}
}

static int put_table(const struct runs *runs)
{
	static const char *const heads[] = {"run", "started", "press", "specimen", "maximum",
		"strength", "rate", "end", "type"};
	struct table table;
	table_init(&table, "rlllrrlll");
	for (size_t i = 0; i < sizeof(heads) / sizeof(*heads); i++)
		table_add(&table, heads[i]);
	for (size_t i = runs->count; i > 0; i--)
		add_row(&table, &runs->rows[i - 1]);
	table_print(&table, stdout);
	table_finish(&table);
	put_marked(runs);
	return EXIT_DONE;
}

static int put_json(const struct runs *runs, struct store *store)
{
	json_t *list = json_array();
	struct run_record record;
	enum store_status status = STORE_OK;
	for (size_t i = runs->count; i > 0 && status == STORE_OK; i--) {
		status = store_run_load(store, runs->rows[i - 1].run, &record);
		if (status == STORE_OK)
			json_array_append_new(list, stored_run_json(&record));
	}
	if (status == STORE_OK)
		return stored_put_json(runs->command, list);
	json_decref(list);
	return stored_failed(runs->command, store, status);
}

static int put_runs(struct runs *runs, struct store *store)
{
	enum store_status status = store_runs_each(store, &runs->filter, take_row, runs);
	if (status != STORE_OK && status != STORE_NONE)
		return stored_failed(runs->command, store, status);
	if (runs->no_memory) {
		fprintf(stderr, "%s: too many runs for the memory; ask for fewer with --limit\n",
			runs->command);
		return EXIT_CANNOT;
	}
	if (runs->count == 0 && !runs->json) {
		fprintf(stderr, "%s: no run matches\n", runs->command);
		return EXIT_NO;
	}
	int code = runs->json ? put_json(runs, store) : put_table(runs);
	return code == EXIT_DONE && runs->count == 0 ? EXIT_NO : code;
}

int runs_main(int argc, char **argv)
{
	const struct argp_child children[] = {
		{&options_database, 0, NULL, 0}, {&options_json, 0, NULL, 0}, {0}};
	const struct argp argp = {options, parse, NULL,
		"Lists the stored runs. Exits with 1 when none matches.", children, NULL, NULL};
	struct runs runs = {.command = argv[0], .filter = {.newest_first = true}};
	struct store *store;
	argp_parse(&argp, argc, argv, 0, NULL, &runs);
	int code = stored_open(runs.command, runs.database, &store);
	if (code != EXIT_DONE)
		return code;
	code = put_runs(&runs, store);
	store_close(store);
	free(runs.rows);
	return code;
}
