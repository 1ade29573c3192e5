/* SPDX-License-Identifier: MIT
 *
 * `ramplog fracture`: what the technician saw. Entering it again is a correction: both entries
 * stay.
 */
#include "base/decimal.h"
#include "base/units.h"
#include "commands.h"
#include "options.h"
#include "sketches.h"
#include "words.h"
#include "writing.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { KEY_DEFECTS = 256, KEY_CAPS, KEY_CRACK_MM, KEY_CRACK_IN };

static const struct argp_option options[] = {
	{"defects", KEY_DEFECTS, "TEXT", 0, "defects of the specimen: voids, segregation ...", 0},
	{"cap-defects", KEY_CAPS, "TEXT", 0, "defects of its caps: chipped, sloped, hollow ...", 0},
	{"note", 'n', "TEXT", 0, "what else was seen: fracture around the aggregate ...", 0},
	{"crack-mm", KEY_CRACK_MM, "A", 0,
		"of a beam: how far from the nearer support the crack begins, along the tension "
		"face",
		0},
	{"crack-in", KEY_CRACK_IN, "A", 0, "the same in inches", 0},
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

static void take_word(struct argp_state *state, unsigned which, const char *typed)
{
	struct writing *writing = state->input;
	if (which == 0)
		writing->request.run = options_number(state, "a run", typed);
	else
		writing->request.type = fracture_type(state, typed);
}

/* One note is kept: what was said of the specimen, its caps and besides, each under its name. */
static void add_note(struct argp_state *state, const char *name, const char *typed)
{
	struct writing *writing = state->input;
	char *note = writing->request.note;
	size_t used = strlen(note), size = sizeof(writing->request.note);
	int length = snprintf(note + used, size - used, "%s%s%s", used ? "; " : "", name, typed);
	if (!typed[0] || length >= (int)(size - used))
		argp_error(state, "what is noted must have 1 to %zu bytes in all", size - 1);
}

static void take_crack(struct argp_state *state, const char *typed, int64_t um_per_unit)
{
	struct writing *writing = state->input;
	struct decimal decimal;
	if (!decimal_parse(typed, strlen(typed), &decimal) || decimal.mantissa <= 0 ||
		decimal_double(decimal) > REQUEST_CRACK_MM_MAX)
		argp_error(state, "'%s' is no distance from a support", typed);
	writing->request.crack_um = llround(decimal_double(decimal) * (double)um_per_unit);
}

static error_t parse(int key, char *typed, struct argp_state *state)
{
	switch (key) {
	case 'n':
		add_note(state, "", typed);
		return 0;
	case KEY_CRACK_MM:
		take_crack(state, typed, UNITS_UM_PER_MM);
		return 0;
	case KEY_CRACK_IN:
		take_crack(state, typed, UNITS_UM_PER_INCH);
		return 0;
	case KEY_DEFECTS:
		add_note(state, "specimen: ", typed);
		return 0;
	case KEY_CAPS:
		add_note(state, "caps: ", typed);
		return 0;
	default:
		return writing_parse_two(key, typed, state, take_word,
			"which RUN, and which TYPE of fracture (1 to 6)?");
	}
}

/* What the type is called by the run's method; where the database cannot be read, by ASTM C39. */
static void put_done(const struct writing *writing)
{
	const struct request *request = &writing->request;
	static struct run_record record;
	struct message why;
	struct store *store;
	const struct method_fracture *fracture = NULL;
	if (store_open(&store, writing->database, STORE_READ, &why) == STORE_OK) {
		if (store_run_load(store, request->run, &record) == STORE_OK &&
			record.start.judged_by)
			fracture = method_fracture(record.start.judged_by, request->type);
		store_close(store);
	}
	printf("run %" PRId64 ": fracture type %d, %s\n", request->run, request->type,
		fracture ? fracture->words : words_fracture(request->type));
	if (fracture && fracture->worth == METHOD_FRACTURE_VOID)
		puts("such a fracture gives no result: the run stays on record without one");
}

/* argp's way to make a help text when it is asked for. */
static char *filter_help(int key, const char *help, void *input)
{
	(void)input;
	return key == ARGP_KEY_HELP_POST_DOC ? sketches_help() : (char *)(uintptr_t)help;
}

int fracture_main(int argc, char **argv)
{
	const struct argp_child children[] = {{&writing_argp, 0, NULL, 0}, {0}};
	const struct argp argp = {options, parse, "RUN TYPE",
		"Enters what the technician saw after a run; that completes it. Entered again it "
		"is a "
		"correction, and both entries stay."
		"\vTYPE",
		children, filter_help, NULL};
	struct writing writing = {.command = argv[0], .request = {.ask = REQUEST_FRACTURE}};
	argp_parse(&argp, argc, argv, 0, NULL, &writing);
	int code = writing_do(&writing);
	if (code == EXIT_DONE)
		put_done(&writing);
	return code;
}
