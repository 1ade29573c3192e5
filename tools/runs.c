/* SPDX-License-Identifier: MIT
 *
 * `ramplog runs`: the stored runs as a table or as JSON, oldest first; a table has the newest ones,
 * unless all are asked for.
 */
#include "commands.h"
#include "draw/shown.h"
#include "options.h"
#include "results.h"
#include "run_list.h"
#include "stored.h"
#include "table.h"
#include "words.h"

#include <inttypes.h>
#include <string.h>

struct runs {
	const char *command;
	const char *database;
	bool json;
	bool all;
	struct run_list list;
};

/* What a person can look over; of a million runs nobody wants more by default. */
enum { TABLE_RUNS = 200 };

static const struct argp_option options[] = {
	{"all", 'a', NULL, 0, "every one in the table, and not the newest 200 alone", 0},
	{0},
};

/* "broken" as long as nobody has said how, then "type 3". */
static void put_end(const struct run_row *row, char *end, size_t size)
{
	const char *how = row->closed ? end_text(row->end) : "not closed";
	const char *voided = row->voided ? "VOID, " : "";
	if (row->fracture && row->end == END_BROKEN)
		snprintf(end, size, "%stype %d", voided, row->fracture);
	else if (row->fracture)
		snprintf(end, size, "%s%s, type %d", voided, how, row->fracture);
	else
		snprintf(end, size, "%s%s", voided, how);
}

static void add_row(struct table *table, const struct run_row *row)
{
	char number[24], started[CLOCKS_UTC_TEXT_SIZE], maximum[40] = "-";
	snprintf(number, sizeof(number), "%s%" PRId64, words_is_marked(row) ? "*" : "", row->run);
	words_minute(row->started, started);
	if (row->closed) {
		struct text text;
		text_init(&text, maximum, sizeof(maximum));
		shown_put(SHOWN_LOAD, shown_inch_pound(row->method),
			(double)row->maximum_un / (double)UNITS_UN_PER_N, &text);
	}
	/* As corrected and, in brackets, as it was at first. */
	char strength[2 * OUTCOME_REPORTED_SIZE + 8] = "-", end[40];
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
	put_end(row, end, sizeof(end));
	char verdict[60];
	snprintf(verdict, sizeof(verdict), "%s", row->closed ? words_verdict(row->verdict) : "-");
	if (row->corrected && row->verdict_corrected != row->verdict)
		snprintf(verdict, sizeof(verdict), "%s (%s)", words_verdict(row->verdict_corrected),
			words_verdict(row->verdict));
	const char *const cells[] = {
		number, started, row->press, specimen, maximum, strength, verdict, end};
	for (size_t i = 0; i < sizeof(cells) / sizeof(*cells); i++)
		table_add(table, cells[i]);
}

static void put_marked(const struct runs *runs)
{
	for (size_t i = 0; i < runs->list.count; i++)
		words_put_marked(run_list_at(&runs->list, i));
}

static int put_table(const struct runs *runs)
{
	static const char *const heads[] = {
		"run", "started", "press", "specimen", "maximum", "strength", "rate", "end"};
	struct table table;
	table_init(&table, "rlwwrrww");
	for (size_t i = 0; i < sizeof(heads) / sizeof(*heads); i++)
		table_add(&table, heads[i]);
	for (size_t i = 0; i < runs->list.count; i++)
		add_row(&table, run_list_at(&runs->list, i));
	table_print(&table, stdout);
	table_finish(&table);
	put_marked(runs);
	return EXIT_DONE;
}

static error_t parse(int key, char *typed, struct argp_state *state)
{
	struct runs *runs = state->input;
	(void)typed;
	switch (key) {
	case ARGP_KEY_INIT:
		state->child_inputs[0] = &runs->list;
		state->child_inputs[1] = &runs->database;
		state->child_inputs[2] = &runs->json;
		return 0;
	case 'a':
		runs->all = true;
		return 0;
	default:
		return ARGP_ERR_UNKNOWN;
	}
}

/* One run at a time, so that a million of them need no more memory than one. */
static int put_json(struct runs *runs, struct store *store)
{
	int code = run_list_find_numbers(&runs->list, runs->command, store);
	if (code == EXIT_DONE)
		code = results_put(
			runs->command, store, false, runs->list.numbers, runs->list.count, stdout);
	return code == EXIT_DONE && runs->list.count == 0 ? EXIT_NO : code;
}

static int put_newest(struct runs *runs, struct store *store)
{
	struct run_filter *filter = &runs->list.filter;
	bool cut = !runs->all && filter->limit == 0;
	/* One more, to see whether there are. */
	if (cut)
		filter->limit = TABLE_RUNS + 1;
	int code = run_list_find(&runs->list, runs->command, store);
	if (code != EXIT_DONE)
		return code;
	if (runs->list.count == 0) {
		fprintf(stderr, "%s: no run matches\n", runs->command);
		return EXIT_NO;
	}
	bool more = cut && runs->list.count > TABLE_RUNS;
	runs->list.count -= more;
	code = put_table(runs);
	if (more)
		fprintf(stderr,
			"%s: these are the newest %d; --all shows every one, --limit COUNT another "
			"number\n",
			runs->command, TABLE_RUNS);
	return code;
}

int runs_main(int argc, char **argv)
{
	const struct argp_child children[] = {{&run_list_argp, 0, NULL, 0},
		{&options_database, 0, NULL, 0}, {&options_json, 0, NULL, 0}, {0}};
	const struct argp argp = {options, parse, NULL,
		"Lists the stored runs. Exits with 1 when none matches.", children, NULL, NULL};
	struct runs runs = {.command = argv[0]};
	struct store *store;
	argp_parse(&argp, argc, argv, 0, NULL, &runs);
	int code = stored_open(runs.command, runs.database, &store);
	if (code != EXIT_DONE)
		return code;
	code = runs.json ? put_json(&runs, store) : put_newest(&runs, store);
	store_close(store);
	run_list_finish(&runs.list);
	return code;
}
