/* SPDX-License-Identifier: MIT
 *
 * `ramplog seat`: this specimen is the next in that press; or those that are typed or scanned, one
 * after the other.
 */
#include "ask.h"
#include "commands.h"
#include "options.h"
#include "writing.h"

#include <stdio.h>

static error_t parse(int key, char *typed, struct argp_state *state)
{
	struct writing *writing = state->input;
	struct request *request = &writing->request;
	switch (key) {
	case ARGP_KEY_INIT:
		state->child_inputs[0] = writing;
		return 0;
	case ARGP_KEY_ARG:
		if (state->arg_num > 1)
			argp_error(state, "'%s' is one word too many", typed);
		if (state->arg_num == 0)
			options_name(state, "a press name", typed, request->press,
				sizeof(request->press));
		else
			options_name(state, "a specimen id", typed, request->specimen_id,
				sizeof(request->specimen_id));
		return 0;
	case ARGP_KEY_END:
		if (state->arg_num < 1)
			argp_error(state, "which PRESS, and which SPECIMEN?");
		return 0;
	default:
		return ARGP_ERR_UNKNOWN;
	}
}

static int seat(struct writing *writing)
{
	json_t *answer = NULL;
	writing->answer = &answer;
	int code = writing_do(writing);
	if (code == EXIT_DONE)
		printf("%s is the next specimen in %s\n", writing->request.specimen_id,
			writing->request.press);
	fflush(stdout);
	const char *warning = json_string_value(json_object_get(answer, "warning"));
	if (warning)
		fprintf(stderr, "%s: WARNING: %s\n", writing->command, warning);
	json_decref(answer);
	writing->answer = NULL;
	return code;
}

/* One after the other, until an empty line: a scanner types its line for itself. */
static int seat_asked(struct writing *writing)
{
	char *id = writing->request.specimen_id;
	int code = EXIT_CANNOT;
	bool any = false;
	while (ask_line("specimen (scan or type its id; an empty line ends): ", id,
		sizeof writing->request.specimen_id)) {
		int one = seat(writing);
		code = !any || one > code ? one : code;
		any = true;
	}
	if (!any)
		fprintf(stderr, "%s: which SPECIMEN? No id was given\n", writing->command);
	return code;
}

int seat_main(int argc, char **argv)
{
	const struct argp_child children[] = {{&writing_argp, 0, NULL, 0}, {0}};
	const struct argp argp = {NULL, parse, "PRESS [SPECIMEN]",
		"Says that a registered specimen is the next in a press. The press's next run "
		"takes it. Without a SPECIMEN it is asked for, again and again: scan a label, or "
		"type.",
		children, NULL, NULL};
	struct writing writing = {.command = argv[0], .request = {.ask = REQUEST_SEAT}};
	argp_parse(&argp, argc, argv, 0, NULL, &writing);
	return writing.request.specimen_id[0] ? seat(&writing) : seat_asked(&writing);
}
