/* SPDX-License-Identifier: MIT
 *
 * `ramplog zero`: take away what the unloaded press reads. An act of a person, on record with who,
 * when and how much; nothing does it silently.
 */
#include "commands.h"
#include "options.h"
#include "writing.h"

#include <stdio.h>

static const struct argp_option options[] = {
	{"note", 'n', "TEXT", 0, "why", 0},
	{0},
};

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
		options_press(state, typed, request->press, sizeof request->press);
		return 0;
	case ARGP_KEY_END:
		if (!request->press[0])
			argp_error(state, "which PRESS?");
		return 0;
	default:
		return ARGP_ERR_UNKNOWN;
	}
}

static void print_zeros(const char *press, const json_t *zeros)
{
	for (size_t i = 0; i < json_array_size(zeros); i++) {
		const json_t *zero = json_array_get(zeros, i);
		const char *cell = json_string_value(json_object_get(zero, "cell"));
		printf("%s: the zero of cell %s is %.3f kN now, was %.3f kN\n", press,
			cell ? cell : "?",
			json_number_value(json_object_get(zero, "zero_n")) * 1e-3,
			json_number_value(json_object_get(zero, "before_n")) * 1e-3);
	}
}

int zero_main(int argc, char **argv)
{
	const struct argp_child children[] = {{&writing_argp, 0, NULL, 0}, {0}};
	const struct argp argp = {options, parse, "PRESS",
		"Takes what the unloaded press reads now as its zero. The daemon does it, from two "
		"seconds in which the load stood still, and keeps who asked for it.",
		children, NULL, NULL};
	json_t *answer = NULL;
	struct writing writing = {
		.command = argv[0], .request = {.ask = REQUEST_ZERO}, .answer = &answer};
	argp_parse(&argp, argc, argv, 0, NULL, &writing);
	int code = writing_do(&writing);
	if (code == EXIT_DONE)
		print_zeros(writing.request.press, json_object_get(answer, "zeros"));
	json_decref(answer);
	return code;
}
