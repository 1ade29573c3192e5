/* SPDX-License-Identifier: MIT
 *
 * `ramplog report`: the runs of a set, or one run, as a report for those who were not there. Reads
 * the database, asks no clock: the same record gives the same bytes.
 */
#include "commands.h"
#include "options.h"
#include "output.h"
#include "report_sheet.h"
#include "stored.h"
#include "words.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
	KEY_SET = 256,
	KEY_LABORATORY,
	KEY_CUSTOMER,
	KEY_REVIEWER,
	KEY_ISSUED,
	KEY_REPLACES,
	KEY_WHY
};
enum { RUNS_MAX = 64, SUBJECT_SIZE = STORE_NAME_SIZE + 16 };

struct report {
	const char *command;
	const char *database;
	const char *output;
	const char *subject; /* as typed */
	bool set;            /* it is a set, whatever it looks like */
	struct report_words words;
	struct report_run *runs; /* owned */
	int64_t numbers[RUNS_MAX];
	size_t count;
	bool too_many;
};

static const struct argp_option options[] = {
	{"set", KEY_SET, "SET", 0, "a set whose name is a number", 0},
	{"laboratory", KEY_LABORATORY, "NAME", 0, "who tested", 0},
	{"customer", KEY_CUSTOMER, "NAME", 0, "for whom", 0},
	{"reviewer", KEY_REVIEWER, "NAME", 0, "who checked the results", 0},
	{"issued", KEY_ISSUED, "DATE", 0,
		"date of issue, ISO 8601; without it the report is a draft", 0},
	{"replaces", KEY_REPLACES, "REPORT", 0, "amended: the report that this one replaces", 0},
	{"because", KEY_WHY, "REASON", 0, "amended: why", 0},
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
	const struct report_words *words = &report->words;
	struct utc_time issued;
	if (!report->subject)
		argp_error(state, "a report on which SET or RUN? `ramplog runs` lists them");
	if (!report->output)
		argp_error(state, "into which file? -o FILE.pdf, .svg, .png, .html or .txt");
	if (words->issued && !clocks_utc_parse(words->issued, &issued))
		argp_error(state, "--issued '%s' is no date such as 2026-11-25", words->issued);
	if (words->reason && !words->replaces)
		argp_error(state, "--because needs --replaces: which report is amended?");
}

static error_t parse(int key, char *typed, struct argp_state *state)
{
	struct report *report = state->input;
	switch (key) {
	case ARGP_KEY_INIT:
		state->child_inputs[0] = &report->database;
		state->child_inputs[1] = &report->output;
		return 0;
	case KEY_SET:
		report->set = true;
		take_subject(state, report, typed);
		return 0;
	case KEY_LABORATORY:
		report->words.laboratory = typed;
		return 0;
	case KEY_CUSTOMER:
		report->words.customer = typed;
		return 0;
	case KEY_REVIEWER:
		report->words.reviewer = typed;
		return 0;
	case KEY_ISSUED:
		report->words.issued = typed;
		return 0;
	case KEY_REPLACES:
		report->words.replaces = typed;
		return 0;
	case KEY_WHY:
		report->words.reason = typed;
		return 0;
	case ARGP_KEY_ARG:
		take_subject(state, report, typed);
		return 0;
	case ARGP_KEY_END:
		check(state, report);
		return 0;
	default:
		return ARGP_ERR_UNKNOWN;
	}
}

/* ---- which runs */

static bool take_number(void *context, const struct run_row *row)
{
	struct report *report = context;
	report->too_many = report->count == RUNS_MAX;
	if (!report->too_many)
		report->numbers[report->count++] = row->run;
	return !report->too_many;
}

static bool is_number(const char *text)
{
	return text[strspn(text, "0123456789")] == '\0' && strlen(text) < 18;
}

static int find_runs(struct report *report, struct store *store)
{
	struct run_filter filter = {0};
	if (!report->set && is_number(report->subject)) {
		report->numbers[0] = strtoll(report->subject, NULL, 10);
		report->count = 1;
		return EXIT_DONE;
	}
	if (strlen(report->subject) < sizeof(filter.set))
		strcpy(filter.set, report->subject);
	enum store_status status =
		filter.set[0] ? store_runs_each(store, &filter, take_number, report) : STORE_OK;
	if (status != STORE_OK)
		return stored_failed(report->command, store, status);
	if (report->too_many) {
		fprintf(stderr, "%s: the set has more than %d runs, too many for a report\n",
			report->command, RUNS_MAX);
		return EXIT_CANNOT;
	}
	if (report->count > 0)
		return EXIT_DONE;
	fprintf(stderr, "%s: there is no run of a set '%s'; `ramplog runs --set SET` lists one\n",
		report->command, report->subject);
	return EXIT_NO;
}

static int by_number(const void *a, const void *b)
{
	int64_t left = *(const int64_t *)a, right = *(const int64_t *)b;
	return (left > right) - (left < right);
}

/* Keeps the last correction of the specimen, and the last word on whether the run counts. */
static bool take_correction(void *context, const struct correction *correction)
{
	struct report_run *run = context;
	if (correction->kind == CORRECTION_SPECIMEN)
		run->correction = *correction;
	else
		run->voided = *correction;
	if (correction->kind == CORRECTION_VALID)
		run->voided.number = 0;
	return true;
}

/* What holds today: specimen and outcome as corrected last. */
static enum store_status derive_run(
	const struct report *report, struct store *store, struct report_run *run, int64_t number)
{
	struct run_start *start = &run->record.start;
	bool set = report->set || !is_number(report->subject);
	enum store_status status = store_corrections_each(store, number, take_correction, run);
	if (status == STORE_OK && run->record.row.closed)
		status = store_run_seal(store, number, &run->seal);
	if (status != STORE_OK)
		return status;
	if (run->correction.number == 0)
		return replay_run(store, &run->record, &run->replay);
	status = replay_with(store, &run->record, &run->correction.specimen, &run->replay);
	start->has_specimen = true;
	start->specimen = run->correction.specimen;
	run->record.outcome = run->replay.outcome;
	run->elsewhere = set && strcmp(start->specimen.set, report->subject) != 0;
	return status;
}

static enum store_status find_confirmation(struct store *store, struct report_run *run)
{
	const struct method *method = run->record.start.judged_by;
	if (!method)
		return STORE_OK;
	enum store_status status = store_method_confirmed(store, method, &run->confirmation);
	run->confirmed = status == STORE_OK;
	return status == STORE_NONE ? STORE_OK : status;
}

static int load_run(
	struct report *report, struct store *store, struct report_run *run, int64_t number)
{
	int code = stored_run(report->command, store, number, &run->record);
	if (code != EXIT_DONE)
		return code;
	enum store_status status = derive_run(report, store, run, number);
	if (status == STORE_OK)
		status = find_confirmation(store, run);
	if (status != STORE_OK)
		return stored_failed(report->command, store, status);
	const struct run_start *start = &run->record.start;
	run->curve = (struct run_curve){run->replay.samples,
		run->replay.outcome.method ? run->replay.sample_count : 0, start->origin,
		&run->replay.outcome};
	run->picture = (struct run_picture){.curve = &run->curve,
		.name = start->has_specimen ? start->specimen.id : "no specimen",
		.detail = words_verdict(run->replay.outcome.judgement.rate.verdict),
		.brief = true};
	return EXIT_DONE;
}

static bool one_method(const struct report *report)
{
	for (size_t i = 1; i < report->count; i++) {
		if (strcmp(report->runs[i].record.start.method,
			    report->runs[0].record.start.method) == 0)
			continue;
		fprintf(stderr,
			"%s: runs %" PRId64 " and %" PRId64 " are of two methods; report "
			"them one by one\n",
			report->command, report->numbers[0], report->numbers[i]);
		return false;
	}
	return true;
}

/* ---- the report */

static int write_report(const struct report *report)
{
	enum sheet_format format;
	char subject[SUBJECT_SIZE], created[CLOCKS_UTC_TEXT_SIZE];
	const struct run_record *last = &report->runs[report->count - 1].record;
	if (!sheet_format_of(report->output, &format)) {
		fprintf(stderr,
			"%s: %s: name a file that ends in .pdf, .svg, .png, .html or .txt\n",
			report->command, report->output);
		return EXIT_CANNOT;
	}
	snprintf(subject, sizeof(subject), "%s %s",
		report->set || !is_number(report->subject) ? "set" : "run", report->subject);
	const struct report_content content = {
		subject, report->runs, report->count, &report->words};
	words_time(last->row.closed ? last->ended : last->start.started, created);
	struct output *output = output_open(report->command, report->output);
	if (!output)
		return EXIT_CANNOT;
	struct sheet *sheet = report_sheet(&content);
	bool good = sheet && sheet_write(sheet, created, format, output_take, output);
	sheet_destroy(sheet);
	return output_close(output, good);
}

static int make_report(struct report *report, struct store *store)
{
	int code = find_runs(report, store);
	if (code != EXIT_DONE)
		return code;
	report->runs = calloc(report->count, sizeof(*report->runs));
	if (!report->runs) {
		fprintf(stderr, "%s: out of memory\n", report->command);
		return EXIT_CANNOT;
	}
	qsort(report->numbers, report->count, sizeof(*report->numbers), by_number);
	for (size_t i = 0; i < report->count && code == EXIT_DONE; i++)
		code = load_run(report, store, &report->runs[i], report->numbers[i]);
	if (code == EXIT_DONE)
		code = one_method(report) ? write_report(report) : EXIT_CANNOT;
	for (size_t i = 0; i < report->count; i++)
		replay_finish(&report->runs[i].replay);
	free(report->runs);
	return code;
}

int report_main(int argc, char **argv)
{
	const struct argp_child children[] = {
		{&options_database, 0, NULL, 0}, {&output_argp, 0, NULL, 0}, {0}};
	const struct argp argp = {options, parse, "SET|RUN",
		"Writes a report on the runs of a set, or on one run, as FILE.pdf, .svg, .png, "
		".html or .txt.",
		children, NULL, NULL};
	struct report report = {.command = argv[0]};
	struct store *store;
	argp_parse(&argp, argc, argv, 0, NULL, &report);
	int code = stored_open(report.command, report.database, &store);
	if (code != EXIT_DONE)
		return code;
	code = make_report(&report, store);
	store_close(store);
	return code;
}
