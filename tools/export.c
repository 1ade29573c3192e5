/* SPDX-License-Identifier: MIT
 *
 * `ramplog export`: the curve of a stored run; or, with --results, the results of many as a table;
 * or, with --folder, a case to be handed out: runs with all that is needed to check them.
 */
#include "commands.h"
#include "export_case.h"
#include "export_curve.h"
#include "options.h"
#include "results.h"
#include "run_list.h"
#include "stored.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

struct export
{
	const char *command;
	const char *database;
	const char *path;   /* NULL: stdout */
	const char *folder; /* NULL: none is made */
	const char *format;
	bool json; /* --json, as the other reading commands have it */
	bool results;
	int64_t *runs; /* owned */
	size_t count;
	struct run_list list;
};

enum { KEY_RESULTS = 512, KEY_FOLDER };

static const struct argp_option options[] = {
	{"format", 'f', "FORMAT", 0, "csv (as `ramplog assess` reads it; the default) or json", 0},
	{"output", 'o', "FILE", 0, "write to FILE instead of standard output", 0},
	{"results", KEY_RESULTS, NULL, 0,
		"instead of a curve the results of the runs, one row each: of those that are "
		"named, "
		"else of those that the options below choose",
		0},
	{"folder", KEY_FOLDER, "FOLDER", 0,
		"make a folder to be handed to others, with everything about these runs and "
		"checksums; FOLDER must not be there yet",
		0},
	{0},
};

static void add_run(struct export *export, int64_t run)
{
	int64_t *runs = realloc(export->runs, (export->count + 1) * sizeof(*runs));
	if (!runs)
		return;
	export->runs = runs;
	export->runs[export->count++] = run;
}

static void finish_options(struct argp_state *state, struct export *export)
{
	bool several = export->results || export->folder;
	if (export->json)
		export->format = "json";
	if (!several && export->count == 0)
		argp_error(state, "which RUN? `ramplog runs` lists them");
	if (!several && export->count > 1)
		argp_error(
			state, "one curve at a time; several runs go with --results or --folder");
	if (export->folder && (export->results || export->path))
		argp_error(state, "--folder goes without --results and --output");
}

static error_t parse(int key, char *typed, struct argp_state *state)
{
	struct export *export = state->input;
	switch (key) {
	case ARGP_KEY_INIT:
		state->child_inputs[0] = &export->list;
		state->child_inputs[1] = &export->database;
		state->child_inputs[2] = &export->json;
		return 0;
	case 'f':
		if (!export_curve_knows(typed))
			argp_error(state, "a format is csv or json, not '%s'", typed);
		export->format = typed;
		return 0;
	case 'o':
		export->path = typed;
		return 0;
	case KEY_RESULTS:
		export->results = true;
		return 0;
	case KEY_FOLDER:
		export->folder = typed;
		return 0;
	case ARGP_KEY_ARG:
		add_run(export, options_number(state, "a run", typed));
		return 0;
	case ARGP_KEY_END:
		finish_options(state, export);
		return 0;
	default:
		return ARGP_ERR_UNKNOWN;
	}
}

/* Those that the options choose, where none is named. */
static int find_runs(struct export *export, struct store *store)
{
	if (export->count > 0)
		return EXIT_DONE;
	int code = run_list_find_numbers(&export->list, export->command, store);
	export->runs = export->list.numbers;
	export->count = export->list.count;
	export->list.numbers = NULL;
	if (code == EXIT_DONE && export->count == 0) {
		fprintf(stderr, "%s: no run matches\n", export->command);
		return EXIT_NO;
	}
	return code;
}

static int put_curve(const struct export *export, struct store *store, FILE *out)
{
	struct run_record record;
	struct replay replay;
	int code = stored_run(export->command, store, export->runs[0], &record);
	if (code != EXIT_DONE)
		return code;
	enum store_status status = replay_run(store, &record, &replay);
	if (status != STORE_OK)
		return stored_failed(export->command, store, status);
	status = export_curve_put(export->format, store, &record, &replay, out);
	replay_finish(&replay);
	return status == STORE_OK ? EXIT_DONE : stored_failed(export->command, store, status);
}

static int put(const struct export *export, struct store *store, FILE *out)
{
	if (!export->results)
		return put_curve(export, store, out);
	return results_put(export->command, store, strcmp(export->format, "csv") == 0, export->runs,
		export->count, out);
}

static int write_file(const struct export *export, struct store *store)
{
	/* Standard output is checked when the program ends. */
	if (!export->path)
		return put(export, store, stdout);
	FILE *out = fopen(export->path, "w");
	bool failed = !out;
	int code = EXIT_DONE;
	if (out) {
		code = put(export, store, out);
		failed = ferror(out);
		failed = fclose(out) != 0 || failed;
	}
	if (!failed)
		return code;
	fprintf(stderr, "%s: %s could not be written: %s\n", export->command, export->path,
		strerror(errno));
	return EXIT_CANNOT;
}

static int export_runs(struct export *export, struct store *store)
{
	int code = find_runs(export, store);
	if (code != EXIT_DONE)
		return code;
	if (!export->folder)
		return write_file(export, store);
	code = export_case(export->command, export->database, store, export->runs, export->count,
		export->folder);
	if (code == EXIT_DONE)
		printf("%s: %zu run%s; check it with `sha256sum -c manifest-sha256.txt`\n",
			export->folder, export->count, export->count == 1 ? "" : "s");
	return code;
}

int export_main(int argc, char **argv)
{
	const struct argp_child children[] = {{&run_list_argp, 0, "Which runs:", 2},
		{&options_database, 0, NULL, 0}, {&options_json, 0, NULL, 0}, {0}};
	const struct argp argp = {options, parse,
		"RUN\n--results [RUN...]\n--folder FOLDER [RUN...]",
		"Writes the curve of a stored run: the load samples that the judge saw, exactly. "
		"Or "
		"results of runs, or a folder with all there is of them.",
		children, NULL, NULL};
	struct export export = {.command = argv[0], .format = "csv"};
	struct store *store;
	argp_parse(&argp, argc, argv, 0, NULL, &export);
	int code = stored_open(export.command, export.database, &store);
	if (code != EXIT_DONE)
		return code;
	code = export_runs(&export, store);
	store_close(store);
	run_list_finish(&export.list);
	free(export.runs);
	return code;
}
