/* SPDX-License-Identifier: MIT
 *
 * `ramplog correct`: puts right what is on record of a run: which specimen it was of, or that it
 * does not count. The run's own rows stay; a correction is a row of its own.
 */
#include "commands.h"
#include "options.h"
#include "writing.h"

#include <inttypes.h>
#include <stdio.h>

enum { KEY_VOID = 256, KEY_VALID };

static const struct argp_option options[] = {
	{"specimen", 'i', "ID", 0, "it was of this specimen; it is judged again with its data", 0},
	{"void", KEY_VOID, NULL, 0, "it does not count", 0},
	{"valid", KEY_VALID, NULL, 0, "it counts again", 0},
	{"reason", 'r', "TEXT", 0, "why; always needed", 0},
	{0},
};

static void take_kind(struct argp_state *state, enum request_correction kind)
{
	struct writing *writing = state->input;
	if (writing->request.correction != REQUEST_NO_CORRECTION)
		argp_error(state, "one correction at a time: --specimen, --void or --valid");
	writing->request.correction = kind;
}

static void check(struct argp_state *state, const struct request *request)
{
	if (!request->run)
		argp_error(state, "which RUN? `ramplog runs` lists them");
	if (request->correction == REQUEST_NO_CORRECTION)
		argp_error(state, "what is to be put right: --specimen, --void or --valid?");
	if (!request->note[0])
		argp_error(state, "why? Say it with --reason");
}

static error_t parse(int key, char *typed, struct argp_state *state)
{
	struct writing *writing = state->input;
	struct request *request = &writing->request;
	switch (key) {
	case ARGP_KEY_INIT:
		state->child_inputs[0] = writing;
		return 0;
	case 'i':
		options_name(state, "a specimen id", typed, request->specimen_id,
			sizeof(request->specimen_id));
		take_kind(state, REQUEST_OTHER_SPECIMEN);
		return 0;
	case KEY_VOID:
		take_kind(state, REQUEST_VOID);
		return 0;
	case KEY_VALID:
		take_kind(state, REQUEST_VALID);
		return 0;
	case 'r':
		options_name(state, "a reason", typed, request->note, sizeof(request->note));
		return 0;
	case ARGP_KEY_ARG:
		if (request->run)
			argp_error(state, "one run at a time; '%s' is one too many", typed);
		request->run = options_number(state, "a run", typed);
		return 0;
	case ARGP_KEY_END:
		check(state, request);
		return 0;
	default:
		return ARGP_ERR_UNKNOWN;
	}
}

int correct_main(int argc, char **argv)
{
	const struct argp_child children[] = {{&writing_argp, 0, NULL, 0}, {0}};
	const struct argp argp = {options, parse, "RUN",
		"Puts right what is on record of a run. Nothing is changed: the correction is a "
		"row of its own with who, when and why, and the original stays and shows. Data of "
		"a specimen are corrected with `ramplog register ID ... --correct REASON`, "
		"fracture types with `ramplog fracture`.",
		children, NULL, NULL};
	struct writing writing = {.command = argv[0], .request = {.ask = REQUEST_CORRECT_RUN}};
	argp_parse(&argp, argc, argv, 0, NULL, &writing);
	int code = writing_do(&writing);
	if (code == EXIT_DONE)
		printf("run %" PRId64 ": corrected; `ramplog show %" PRId64 "` shows both\n",
			writing.request.run, writing.request.run);
	return code;
}
