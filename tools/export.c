/* SPDX-License-Identifier: MIT
 *
 * `ramplog export`: the curve of a stored run, exact to the micronewton and the nanosecond. The CSV
 * is what `ramplog assess` reads (measure/curve.h). One walk over the run, one writer per format.
 */
#include "base/text.h"
#include "commands.h"
#include "options.h"
#include "store/replay.h"
#include "stored.h"
#include "words.h"

#include <errno.h>
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

/* What a format does with the parts of a run, in this order. */
struct export_writer {
	const char *name;
	void (*head)(FILE *out, const char *name, const char *value);
	void (*begin_samples)(FILE *out);
	void (*sample)(
		FILE *out, const char *time_s, const char *load_n, bool over_range, bool first);
	void (*end)(FILE *out);
};

static void csv_head(FILE *out, const char *name, const char *value)
{
	/* A line break in a name would end the comment. */
	fprintf(out, "# %s: ", name);
	for (; *value; value++)
		fputc((unsigned char)*value < ' ' ? ' ' : *value, out);
	fputc('\n', out);
}

static void csv_begin_samples(FILE *out)
{
	fputs("time_s,load_n,over_range\n", out);
}

static void csv_sample(
	FILE *out, const char *time_s, const char *load_n, bool over_range, bool first)
{
	(void)first;
	fprintf(out, "%s,%s,%d\n", time_s, load_n, over_range);
}

static void csv_end(FILE *out)
{
	(void)out;
}

static void json_head(FILE *out, const char *name, const char *value)
{
	char quoted[STORE_PATH_SIZE * 6 + 3];
	struct text text;
	text_init(&text, quoted, sizeof(quoted));
	text_json_string(&text, value);
	fprintf(out, "%s\"%s\": %s", strcmp(name, "run") == 0 ? "{" : ",\n ", name, quoted);
}

static void json_begin_samples(FILE *out)
{
	fputs(",\n \"columns\": [\"time_s\", \"load_n\", \"over_range\"],\n \"samples\": [", out);
}

static void json_sample(
	FILE *out, const char *time_s, const char *load_n, bool over_range, bool first)
{
	fprintf(out, "%s\n  [%s, %s, %s]", first ? "" : ",", time_s, load_n,
		over_range ? "true" : "false");
}

static void json_end(FILE *out)
{
	fputs("\n ]}\n", out);
}

static const struct export_writer writers[] = {
	{"csv", csv_head, csv_begin_samples, csv_sample, csv_end},
	{"json", json_head, json_begin_samples, json_sample, json_end},
	{0},
};

struct export
{
	const char *command;
	const char *database;
	const char *path; /* NULL: stdout */
	const struct export_writer *writer;
	bool json; /* --json, as the other reading commands have it */
	int64_t run;
};

static const struct argp_option options[] = {
	{"format", 'f', "FORMAT", 0, "csv (as `ramplog assess` reads it; the default) or json", 0},
	{"output", 'o', "FILE", 0, "write to FILE instead of standard output", 0},
	{0},
};

static const struct export_writer *find_writer(const char *name)
{
	for (const struct export_writer *writer = writers; writer->name; writer++) {
		if (strcmp(writer->name, name) == 0)
			return writer;
	}
	return NULL;
}

static error_t parse(int key, char *typed, struct argp_state *state)
{
	struct export *export = state->input;
	switch (key) {
	case ARGP_KEY_INIT:
		state->child_inputs[0] = &export->database;
		state->child_inputs[1] = &export->json;
		return 0;
	case 'f':
		export->writer = find_writer(typed);
		if (!export->writer)
			argp_error(state, "a format is csv or json, not '%s'", typed);
		return 0;
	case 'o':
		export->path = typed;
		return 0;
	case ARGP_KEY_ARG:
		if (export->run)
			argp_error(state, "one run at a time; '%s' is one too many", typed);
		export->run = options_number(state, "a run", typed);
		return 0;
	case ARGP_KEY_END:
		if (!export->run)
			argp_error(state, "which RUN? `ramplog runs` lists them");
		if (export->json)
			export->writer = find_writer("json");
		return 0;
	default:
		return ARGP_ERR_UNKNOWN;
	}
}

/* Without the zeros at the end: the digits then show how fine the cell's readings were. */
static void decimal_text_trimmed(int64_t scaled, int places, char *text)
{
	size_t length = decimal_text(scaled, places, text);
	while (length > 0 && text[length - 1] == '0')
		text[--length] = '\0';
	if (length > 0 && text[length - 1] == '.')
		text[--length] = '\0';
}

static void write_head(
	const struct export_writer *writer, const struct run_record *record, FILE *out)
{
	char number[24], started[CLOCKS_UTC_TEXT_SIZE];
	snprintf(number, sizeof(number), "%" PRId64, record->row.run);
	clocks_utc_text(record->row.started, started);
	writer->head(out, "run", number);
	writer->head(out, "press", record->row.press);
	writer->head(out, "specimen", record->row.specimen);
	writer->head(out, "method", record->row.method);
	writer->head(out, "started", started);
	if (record->row.closed) {
		writer->head(out, "end", end_text(record->row.end));
		writer->head(out, "strength_reported", record->row.strength_reported);
		writer->head(out, "verdict", verdict_text(record->row.verdict));
		struct message why;
		bool reportable =
			standing_reportable(&record->start.standing, record->row.maximum_un, &why);
		writer->head(out, "reportable", reportable ? "yes" : "no");
		if (!reportable)
			writer->head(out, "not_reportable", why.text);
	}
	writer->head(out, "program", record->start.program);
}

static void write_run(const struct export_writer *writer, const struct run_record *record,
	const struct replay *replay, FILE *out)
{
	write_head(writer, record, out);
	writer->begin_samples(out);
	for (size_t i = 0; i < replay->sample_count; i++) {
		const struct sample *sample = &replay->samples[i];
		char time_s[24], load_n[24];
		decimal_text_trimmed(sample->time.ns - record->start.origin.ns, 9, time_s);
		decimal_text_trimmed(sample->load_un, 6, load_n);
		writer->sample(out, time_s, load_n, sample->flags & SAMPLE_OVER_RANGE, i == 0);
	}
	writer->end(out);
}

static int write_file(
	const struct export *export, const struct run_record *record, const struct replay *replay)
{
	/* Standard output is checked when the program ends. */
	if (!export->path) {
		write_run(export->writer, record, replay, stdout);
		return EXIT_DONE;
	}
	FILE *out = fopen(export->path, "w");
	bool failed = !out;
	if (out) {
		write_run(export->writer, record, replay, out);
		failed = ferror(out);
		failed = fclose(out) != 0 || failed;
	}
	if (!failed)
		return EXIT_DONE;
	fprintf(stderr, "%s: %s could not be written: %s\n", export->command, export->path,
		strerror(errno));
	return EXIT_CANNOT;
}

static int export_run(const struct export *export, struct store *store)
{
	struct run_record record;
	struct replay replay;
	int code = stored_run(export->command, store, export->run, &record);
	if (code != EXIT_DONE)
		return code;
	enum store_status status = replay_run(store, &record, &replay);
	if (status != STORE_OK)
		return stored_failed(export->command, store, status);
	code = write_file(export, &record, &replay);
	replay_finish(&replay);
	return code;
}

int export_main(int argc, char **argv)
{
	const struct argp_child children[] = {
		{&options_database, 0, NULL, 0}, {&options_json, 0, NULL, 0}, {0}};
	const struct argp argp = {options, parse, "RUN",
		"Writes the curve of a stored run: the load samples that the judge saw, exactly.",
		children, NULL, NULL};
	struct export export = {.command = argv[0], .writer = find_writer("csv")};
	struct store *store;
	argp_parse(&argp, argc, argv, 0, NULL, &export);
	int code = stored_open(export.command, export.database, &store);
	if (code != EXIT_DONE)
		return code;
	code = export_run(&export, store);
	store_close(store);
	return code;
}
