/* SPDX-License-Identifier: MIT
 *
 * Which runs: the options that choose among the stored runs, and the runs that they choose.
 */
#include "run_list.h"

#include "commands.h"
#include "options.h"
#include "stored.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

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
	struct run_list *list = state->input;
	struct run_filter *filter = &list->filter;
	switch (key) {
	case ARGP_KEY_INIT:
		*list = (struct run_list){.filter = {.newest_first = true}};
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

/* Room for one more; false: there is no memory for it. */
static bool grow(struct run_list *list, void **items, size_t size)
{
	if (list->count < list->capacity)
		return true;
	size_t capacity = list->capacity ? list->capacity * 2 : 64;
	void *grown = realloc(*items, capacity * size);
	list->no_memory = !grown;
	if (grown) {
		*items = grown;
		list->capacity = capacity;
	}
	return grown != NULL;
}

static bool take_row(void *context, const struct run_row *row)
{
	struct run_list *list = context;
	void *rows = list->rows;
	bool grown = grow(list, &rows, sizeof(*list->rows));
	list->rows = rows;
	if (grown)
		list->rows[list->count++] = *row;
	return grown;
}

static bool take_number(void *context, const struct run_row *row)
{
	struct run_list *list = context;
	void *numbers = list->numbers;
	bool grown = grow(list, &numbers, sizeof(*list->numbers));
	list->numbers = numbers;
	if (grown)
		list->numbers[list->count++] = row->run;
	return grown;
}

const struct argp run_list_argp = {.options = options, .parser = parse};

static int find(
	struct run_list *list, const char *command, struct store *store, store_row_take *take)
{
	enum store_status status = store_runs_each(store, &list->filter, take, list);
	if (status != STORE_OK && status != STORE_NONE)
		return stored_failed(command, store, status);
	if (!list->no_memory)
		return EXIT_DONE;
	fprintf(stderr, "%s: too many runs for the memory; ask for fewer with --limit\n", command);
	return EXIT_CANNOT;
}

int run_list_find(struct run_list *list, const char *command, struct store *store)
{
	return find(list, command, store, take_row);
}

int run_list_find_numbers(struct run_list *list, const char *command, struct store *store)
{
	int code = find(list, command, store, take_number);
	for (size_t i = 0; i < list->count / 2; i++) {
		int64_t *one = &list->numbers[i], *other = &list->numbers[list->count - 1 - i];
		int64_t number = *one;
		*one = *other;
		*other = number;
	}
	return code;
}

const struct run_row *run_list_at(const struct run_list *list, size_t index)
{
	return &list->rows[list->count - 1 - index];
}

void run_list_finish(struct run_list *list)
{
	free(list->rows);
	free(list->numbers);
}
