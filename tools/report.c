/* SPDX-License-Identifier: MIT
 *
 * `ramplog report`: the runs of a set, or one run, as a report for those who were not there. A
 * draft only reads the database and asks no clock; one that is issued gets a number and goes on
 * record with the hash of its file. The same record gives the same bytes, so that it can be made
 * again.
 */
#include "commands.h"
#include "options.h"
#include "output.h"
#include "report_issued.h"
#include "report_load.h"
#include "stored.h"
#include "table.h"
#include "words.h"
#include "writing.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

enum {
	KEY_SET = 256,
	KEY_LABORATORY,
	KEY_CUSTOMER,
	KEY_REVIEWER,
	KEY_FIELD,
	KEY_ISSUE,
	KEY_AMENDS,
	KEY_WHY,
	KEY_AGAIN,
	KEY_CHECK,
	KEY_LIST,
};

struct report {
	const char *command;
	struct writing writing;
	const char *output;
	const char *subject; /* as typed */
	bool set;            /* it is a set, whatever it looks like */
	bool issue, list;
	const char *check; /* a file */
	int64_t again;     /* 0: no */
	struct issued issued;
};

static const struct argp_option options[] = {
	{"set", KEY_SET, "SET", 0, "a set whose name is a number", 0},
	{"laboratory", KEY_LABORATORY, "NAME", 0, "who tested", 0},
	{"customer", KEY_CUSTOMER, "NAME", 0, "for whom", 0},
	{"reviewer", KEY_REVIEWER, "NAME", 0, "who checked the results", 0},
	{"field", KEY_FIELD, NULL, 0,
		"the specimens were made under field conditions: those limits of their range", 0},
	{"issue", KEY_ISSUE, NULL, 0,
		"give it a number and put it on record; without it the report is a draft", 0},
	{"amends", KEY_AMENDS, "NUMBER", 0,
		"it replaces this report (by itself: the last one on the same set or run)", 0},
	{"because", KEY_WHY, "REASON", 0, "why it replaces another", 0},
	{"again", KEY_AGAIN, "NUMBER", 0, "make the file of an issued report again", 1},
	{"check", KEY_CHECK, "FILE", 0, "is this file a report as it was issued?", 1},
	{"list", KEY_LIST, NULL, 0, "list the issued reports", 1},
	{0},
};

static void take_subject(struct argp_state *state, struct report *report, char *typed)
{
	if (report->subject)
		argp_error(state, "one set or run at a time; '%s' is one too many", typed);
	report->subject = typed;
}

static void check(struct argp_state *state, const struct report *report)
{
	const struct issued *issued = &report->issued;
	int other = (report->again > 0) + (report->check != NULL) + report->list;
	if (other > 1 || (other == 1 && (report->subject || report->issue)))
		argp_error(state, "one of SET or RUN, --again, --check and --list at a time");
	if (report->check || report->list)
		return;
	if (!report->subject && !report->again)
		argp_error(state, "a report on which SET or RUN? `ramplog runs` lists them");
	if (!report->output)
		argp_error(state, "into which file? -o FILE.pdf, .svg, .png, .html or .txt");
	if ((issued->replaces || issued->reason[0]) && !report->issue)
		argp_error(
			state, "--amends and --because are for a report that is issued: --issue");
	if (issued->replaces && !issued->reason[0])
		argp_error(state, "why does it replace report %" PRId64 "? Say it with --because",
			issued->replaces);
}

static void take_name(struct argp_state *state, const char *what, const char *typed, char *name)
{
	options_name(state, what, typed, name, ISSUED_TEXT_SIZE);
}

static error_t parse_issued(int key, char *typed, struct argp_state *state)
{
	struct report *report = state->input;
	struct issued *issued = &report->issued;
	switch (key) {
	case KEY_LABORATORY:
		take_name(state, "a laboratory", typed, issued->laboratory);
		return 0;
	case KEY_CUSTOMER:
		take_name(state, "a customer", typed, issued->customer);
		return 0;
	case KEY_REVIEWER:
		take_name(state, "a reviewer", typed, issued->reviewer);
		return 0;
	case KEY_FIELD:
		issued->field = true;
		return 0;
	case KEY_AMENDS:
		issued->replaces = options_number(state, "a report", typed);
		return 0;
	case KEY_WHY:
		options_name(state, "a reason", typed, issued->reason, sizeof(issued->reason));
		return 0;
	default:
		return ARGP_ERR_UNKNOWN;
	}
}

static error_t parse(int key, char *typed, struct argp_state *state)
{
	struct report *report = state->input;
	switch (key) {
	case ARGP_KEY_INIT:
		state->child_inputs[0] = &report->writing;
		state->child_inputs[1] = &report->output;
		return 0;
	case KEY_SET:
		report->set = true;
		take_subject(state, report, typed);
		return 0;
	case KEY_ISSUE:
		report->issue = true;
		return 0;
	case KEY_AGAIN:
		report->again = options_number(state, "a report", typed);
		return 0;
	case KEY_CHECK:
		report->check = typed;
		return 0;
	case KEY_LIST:
		report->list = true;
		return 0;
	case ARGP_KEY_ARG:
		take_subject(state, report, typed);
		return 0;
	case ARGP_KEY_END:
		check(state, report);
		return 0;
	default:
		return parse_issued(key, typed, state);
	}
}

static bool find_format(const struct report *report, enum sheet_format *format)
{
	if (sheet_format_of(report->output, format))
		return true;
	fprintf(stderr, "%s: %s: name a file that ends in .pdf, .svg, .png, .html or .txt\n",
		report->command, report->output);
	return false;
}

static int put_file(const struct report *report, const struct report_file *file)
{
	struct output *output = output_open(report->command, report->output);
	if (!output)
		return EXIT_CANNOT;
	return output_close(output, output_take(output, file->bytes, file->count));
}

/* ---- a draft, or one that is issued */

static int write_draft(
	const struct report *report, const struct report_runs *loaded, enum sheet_format format)
{
	struct issued_row row = {.issued = report->issued};
	struct report_file file;
	int code = report_file_make(report->command, loaded, &row, format, &file);
	if (code == EXIT_DONE)
		code = put_file(report, &file);
	report_file_finish(&file);
	return code;
}

/* The number, and what it replaces: the last report on the same subject, unless one is named. */
static int number(struct report *report, struct store *store, const struct report_runs *loaded)
{
	struct issued *issued = &report->issued;
	struct issued_row last;
	char at[CLOCKS_UTC_TEXT_SIZE];
	issued->is_set = loaded->is_set;
	snprintf(issued->subject, sizeof(issued->subject), "%.*s", STORE_NAME_SIZE - 1,
		report->subject);
	enum store_status status = store_report_next(store, &issued->number);
	if (status == STORE_OK)
		status = store_report_of(store, issued->is_set, issued->subject, &last);
	if (status != STORE_OK && status != STORE_NONE)
		return stored_failed(report->command, store, status);
	bool replaces = status == STORE_OK && !last.replaced_by && !issued->replaces;
	if (replaces && !issued->reason[0]) {
		words_minute(last.issued.at, at);
		fprintf(stderr,
			"%s: %s was reported as report %" PRId64 " of %s; this one would replace "
			"it: say why with --because\n",
			report->command, loaded->subject, last.issued.number, at);
		return EXIT_CANNOT;
	}
	if (replaces)
		issued->replaces = last.issued.number;
	if (issued->reason[0] && !issued->replaces) {
		fprintf(stderr,
			"%s: %s was not reported before: there is nothing that it replaces; name "
			"a report with --amends, or leave --because out\n",
			report->command, loaded->subject);
		return EXIT_CANNOT;
	}
	return EXIT_DONE;
}

/* Its file is made first, then it goes on record with the file's hash; only then is there a file
 * that says it was issued. */
static int issue(struct report *report, struct store *store, const struct report_runs *loaded,
	enum sheet_format format)
{
	struct issued_row row = {.replaced_by = 0};
	struct report_file file;
	int code = number(report, store, loaded);
	if (code != EXIT_DONE)
		return code;
	report->issued.at.ns = (int64_t)time(NULL) * CLOCKS_NS_PER_S;
	row.issued = report->issued;
	store_actor(getuid(), &row.recorded.by);
	report_format_text(format, row.issued.format);
	for (size_t i = 0; i < loaded->count; i++)
		row.issued.runs[row.issued.run_count++] = loaded->runs[i].record.row.run;
	code = report_file_make(report->command, loaded, &row, format, &file);
	if (code == EXIT_DONE) {
		store_file_hash(file.bytes, file.count, row.issued.hash);
		report->writing.request.issued = row.issued;
		code = writing_do(&report->writing);
	}
	if (code == EXIT_DONE) {
		printf("report %" PRId64 " on %s is issued\n", row.issued.number, loaded->subject);
		code = put_file(report, &file);
		if (code != EXIT_DONE)
			fprintf(stderr,
				"%s: it is on record all the same; `ramplog report --again "
				"%" PRId64 "` makes the file\n",
				report->command, row.issued.number);
	}
	report_file_finish(&file);
	return code;
}

/* What was said of the set when its terms were entered need not be said again. */
static int find_terms(struct report *report, struct store *store, const struct report_runs *loaded)
{
	struct set_terms terms;
	if (!loaded->is_set)
		return EXIT_DONE;
	enum store_status status = store_terms_find(store, loaded->set, &terms);
	if (status == STORE_OK)
		report->issued.field = report->issued.field || terms.field;
	return status == STORE_OK || status == STORE_NONE
		       ? EXIT_DONE
		       : stored_failed(report->command, store, status);
}

static int make(struct report *report, struct store *store)
{
	struct report_runs loaded;
	enum sheet_format format;
	if (!find_format(report, &format))
		return EXIT_CANNOT;
	int code = report_runs_load(
		report->command, store, report->subject, report->set, NULL, &loaded);
	if (code == EXIT_DONE)
		code = find_terms(report, store, &loaded);
	if (code == EXIT_DONE)
		code = report->issue ? issue(report, store, &loaded, format)
				     : write_draft(report, &loaded, format);
	report_runs_finish(&loaded);
	return code;
}

static int make_again(const struct report *report, struct store *store)
{
	struct report_file file;
	enum sheet_format format;
	if (!find_format(report, &format))
		return EXIT_CANNOT;
	int code = report_file_again(report->command, store, report->again, format, &file);
	if (code == EXIT_DONE)
		code = put_file(report, &file);
	report_file_finish(&file);
	return code;
}

int report_main(int argc, char **argv)
{
	const struct argp_child children[] = {
		{&writing_argp, 0, NULL, 0}, {&output_argp, 0, NULL, 0}, {0}};
	const struct argp argp = {options, parse, "SET|RUN",
		"Writes a report on the runs of a set, or on one run, as FILE.pdf, .svg, .png, "
		".html or .txt: a draft, or with --issue one that goes on record.",
		children, NULL, NULL};
	struct report report = {.command = argv[0],
		.writing = {.command = argv[0], .request = {.ask = REQUEST_REPORT}}};
	struct store *store;
	argp_parse(&argp, argc, argv, 0, NULL, &report);
	int code = stored_open(report.command, report.writing.database, &store);
	if (code != EXIT_DONE)
		return code;
	if (report.list)
		code = report_list(report.command, store);
	else if (report.check)
		code = report_check(report.command, store, report.check);
	else if (report.again)
		code = make_again(&report, store);
	else
		code = make(&report, store);
	store_close(store);
	return code;
}
