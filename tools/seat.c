/* SPDX-License-Identifier: MIT
 *
 * `ramplog seat`: this specimen is the next in that press.
 */
#include "commands.h"
#include "options.h"
#include "writing.h"

#include <stdio.h>

static void take_word(struct argp_state *state, unsigned which, const char *typed)
{
	struct writing *writing = state->input;
	struct request *request = &writing->request;
	if (which == 0)
		options_name(state, "a press name", typed, request->press, sizeof(request->press));
	else
		options_name(state, "a specimen id", typed, request->specimen_id,
			sizeof(request->specimen_id));
}

static error_t parse(int key, char *typed, struct argp_state *state)
{
	return writing_parse_two(key, typed, state, take_word, "which PRESS, and which SPECIMEN?");
}

int seat_main(int argc, char **argv)
{
	const struct argp_child children[] = {{&writing_argp, 0, NULL, 0}, {0}};
	const struct argp argp = {NULL, parse, "PRESS SPECIMEN",
		"Says that a registered specimen is the next in a press. The press's next run "
		"takes it.",
		children, NULL, NULL};
	json_t *answer = NULL;
	struct writing writing = {
		.command = argv[0], .request = {.ask = REQUEST_SEAT}, .answer = &answer};
	argp_parse(&argp, argc, argv, 0, NULL, &writing);
	int code = writing_do(&writing);
	if (code == EXIT_DONE)
		printf("%s is the next specimen in %s\n", writing.request.specimen_id,
			writing.request.press);
	const char *warning = json_string_value(json_object_get(answer, "warning"));
	if (warning)
		fprintf(stderr, "%s: WARNING: %s\n", writing.command, warning);
	json_decref(answer);
	return code;
}
