/* SPDX-License-Identifier: MIT
 *
 * `ramplog care`: when ball and socket of a press's upper block were last cleaned and oiled, and
 * that they have been.
 */
#include "commands.h"
#include "now.h"
#include "options.h"
#include "stored.h"
#include "words.h"
#include "writing.h"

#include <stdio.h>

enum { KEY_DONE = 256, KEY_DATE };

static const struct argp_option options[] = {
	{"done", KEY_DONE, NULL, 0, "it has been done: write it down", 0},
	{"note", 'n', "TEXT", 0, "what was seen, which oil", 0},
	{"date", KEY_DATE, "TIME", 0, "when it was done (ISO 8601); now unless given", 0},
	{0},
};

struct arguments {
	struct writing writing;
	bool done;
};

static error_t parse(int key, char *typed, struct argp_state *state)
{
	struct arguments *arguments = state->input;
	struct request *request = &arguments->writing.request;
	switch (key) {
	case ARGP_KEY_INIT:
		state->child_inputs[0] = &arguments->writing;
		return 0;
	case KEY_DONE:
		arguments->done = true;
		return 0;
	case 'n':
		options_name(state, "a note", typed, request->note, VERIFICATION_TEXT_SIZE);
		return 0;
	case KEY_DATE:
		request->happened = options_time(state, "--date", typed);
		return 0;
	case ARGP_KEY_ARG:
		options_press(state, typed, request->press, sizeof request->press);
		return 0;
	case ARGP_KEY_END:
		if (!request->press[0])
			argp_error(state, "which PRESS?");
		if (!arguments->done && (request->note[0] || request->happened.ns))
			argp_error(state, "a note or a date goes with --done");
		return 0;
	default:
		return ARGP_ERR_UNKNOWN;
	}
}

static int show(const struct writing *writing)
{
	struct utc_time last;
	struct message why;
	struct store *store;
	char text[CLOCKS_UTC_TEXT_SIZE];
	int code = stored_open(writing->command, writing->database, &store);
	if (code != EXIT_DONE)
		return code;
	enum store_status status = store_care_last(store, writing->request.press, &last);
	if (status != STORE_OK)
		code = stored_failed(writing->command, store, status);
	store_close(store);
	if (code != EXIT_DONE)
		return code;
	bool due = upkeep_care_is_due(last, now(), &why);
	if (due) {
		printf("%s: %s\n", writing->request.press, why.text);
		return EXIT_NO;
	}
	words_time(last, text);
	printf("%s: ball and socket were cared for on %s", writing->request.press, text);
	words_time(clocks_utc_months_later(last, UPKEEP_CARE_MONTHS), text);
	printf(", next before %s\n", text);
	return EXIT_DONE;
}

int care_main(int argc, char **argv)
{
	const struct argp_child children[] = {{&writing_argp, 0, NULL, 0}, {0}};
	const struct argp argp = {options, parse, "PRESS",
		"Shows when ball and socket of the press's upper block were last cleaned and "
		"oiled, "
		"or writes down that they have been. Due every six months (ASTM C39). Exits with 1 "
		"where it is due.",
		children, NULL, NULL};
	struct arguments arguments = {
		.writing = {.command = argv[0],
			.request = {.ask = REQUEST_UPKEEP, .upkeep = UPKEEP_SOCKET_CARE}}};
	argp_parse(&argp, argc, argv, 0, NULL, &arguments);
	if (!arguments.done)
		return show(&arguments.writing);
	int code = writing_do(&arguments.writing);
	if (code == EXIT_DONE)
		printf("%s: care of ball and socket is recorded\n",
			arguments.writing.request.press);
	return code;
}
