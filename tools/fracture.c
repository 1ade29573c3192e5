/* SPDX-License-Identifier: MIT
 *
 * `ramplog fracture`: what the technician saw. Entering it again is a correction: both entries
 * stay.
 */
#include "commands.h"
#include "options.h"
#include "words.h"
#include "writing.h"

#include <inttypes.h>
#include <stdio.h>

static const struct argp_option options[] = {
	{"note", 'n', "TEXT", 0, "what else was seen: voids, fracture around the aggregate ...", 0},
	{0},
};

static int fracture_type(struct argp_state *state, const char *typed)
{
	int64_t type = options_number(state, "a fracture type", typed);
	if (type < FRACTURE_TYPE_MIN || type > FRACTURE_TYPE_MAX)
		argp_error(state, "a fracture type is a number from %d to %d, not %s (see --help)",
			FRACTURE_TYPE_MIN, FRACTURE_TYPE_MAX, typed);
	return (int)type;
}

static error_t parse(int key, char *typed, struct argp_state *state)
{
	struct writing *writing = state->input;
	struct request *request = &writing->request;
	switch (key) {
	case ARGP_KEY_INIT:
		state->child_inputs[0] = writing;
		return 0;
	case 'n':
		options_name(state, "a note", typed, request->note, sizeof(request->note));
		return 0;
	case ARGP_KEY_ARG:
		if (state->arg_num == 0)
			request->run = options_number(state, "a run", typed);
		else if (state->arg_num == 1)
			request->type = fracture_type(state, typed);
		else
			argp_error(state, "'%s' is one word too many; a note goes after --note",
				typed);
		return 0;
	case ARGP_KEY_END:
		if (state->arg_num < 2)
			argp_error(state, "which RUN, and which TYPE of fracture (1 to 6)?");
		return 0;
	default:
		return ARGP_ERR_UNKNOWN;
	}
}

int fracture_main(int argc, char **argv)
{
	const struct argp_child children[] = {{&writing_argp, 0, NULL, 0}, {0}};
	const struct argp argp = {options, parse, "RUN TYPE",
		"Enters what the technician saw after a run; that completes it. Entered again it "
		"is a "
		"correction, and both entries stay."
		"\v"
		"TYPE is a number as ASTM C39 counts the types of fracture:\n"
		"  1  cones on both ends\n"
		"  2  a cone on one end, vertical cracks through the other\n"
		"  3  columnar vertical cracks through both ends\n"
		"  4  diagonal, no cracks through the ends\n"
		"  5  sides broken at top or bottom\n"
		"  6  like 5, one end pointed\n",
		children, NULL, NULL};
	struct writing writing = {.command = argv[0], .request = {.ask = REQUEST_FRACTURE}};
	argp_parse(&argp, argc, argv, 0, NULL, &writing);
	int code = writing_do(&writing);
	if (code == EXIT_DONE)
		printf("run %" PRId64 ": fracture type %d, %s\n", writing.request.run,
			writing.request.type, words_fracture(writing.request.type));
	return code;
}
