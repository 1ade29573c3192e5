/* SPDX-License-Identifier: MIT
 *
 * `ramplog register`: a specimen as measured. Lengths stay decimal until they are whole
 * micrometres.
 */
#include "base/decimal.h"
#include "base/text.h"
#include "base/units.h"
#include "commands.h"
#include "options.h"
#include "result/methods.h"
#include "writing.h"

#include <stdio.h>
#include <string.h>

enum {
	KEY_SET = 256,
	KEY_CORRECT,
	KEY_DIAMETER_MM,
	KEY_DIAMETER_IN,
	KEY_LENGTH_MM,
	KEY_LENGTH_IN,
	KEY_SIDE_MM,
	KEY_SIDE_IN,
	KEY_HEIGHT_MM,
	KEY_HEIGHT_IN,
	KEY_CAST,
	KEY_ANTICIPATED_MPA,
	KEY_ANTICIPATED_PSI,
	KEY_RATE_MPA_S,
};

#define METHOD_DEFAULT "astm-c39"

static const struct argp_option options[] = {
	{"set", KEY_SET, "SET", 0, "the companions' set: one batch and age", 2},
	{"method", 'm', "METHOD", 0, "the test method, " METHOD_DEFAULT " unless given; one of", 2},
	{"cast", KEY_CAST, "TIME", 0, "when it was cast, e.g. 2026-11-18T09:30+01:00", 2},
	{"anticipated-mpa", KEY_ANTICIPATED_MPA, "F", 0, "the strength it is expected to have", 2},
	{"anticipated-psi", KEY_ANTICIPATED_PSI, "F", 0, "the same in psi", 2},
	{"rate-mpa-s", KEY_RATE_MPA_S, "R", 0, "the rate chosen, where the method lets one choose",
		2},
	{"correct", KEY_CORRECT, "REASON", 0,
		"the specimen is registered already, with wrong data: these are the right ones, "
		"all of them; say why",
		2},
	{"diameter-mm", KEY_DIAMETER_MM, "D[,D]", 0,
		"a cylinder's diameter, or two at right angles at mid-height", 3},
	{"diameter-in", KEY_DIAMETER_IN, "D[,D]", 0, "the same in inches", 3},
	{"length-mm", KEY_LENGTH_MM, "L", 0, "a cylinder's length", 3},
	{"length-in", KEY_LENGTH_IN, "L", 0, "the same in inches", 3},
	{"side-mm", KEY_SIDE_MM, "A[,B]", 0, "a cube's loaded face", 4},
	{"side-in", KEY_SIDE_IN, "A[,B]", 0, "the same in inches", 4},
	{"height-mm", KEY_HEIGHT_MM, "H", 0, "a cube's height", 4},
	{"height-in", KEY_HEIGHT_IN, "H", 0, "the same in inches", 4},
	{0},
};

static bool parse_length(const char *text, size_t length, int64_t um_per_unit, int64_t *um)
{
	/* Millionths of the unit, so that every decimal a person measures is still exact. */
	enum { PLACES = 6, MILLION = 1000000 };
	const int64_t most = INT64_C(1000000000); /* 1 km in um */
	struct decimal decimal;
	int64_t millionths;
	if (!decimal_parse(text, length, &decimal) || !decimal_scaled(decimal, PLACES, &millionths))
		return false;
	if (millionths <= 0 || millionths > most / um_per_unit * MILLION)
		return false;
	*um = (millionths * um_per_unit + MILLION / 2) / MILLION;
	return true;
}

static void take_length(
	struct argp_state *state, const char *typed, int64_t um_per_unit, int64_t *um)
{
	if (!parse_length(typed, strlen(typed), um_per_unit, um))
		argp_error(state, "'%s' is no length", typed);
}

/* One measure or two with a comma between them. */
static void take_widths(
	struct argp_state *state, const char *typed, int64_t um_per_unit, enum shape shape)
{
	struct writing *writing = state->input;
	struct specimen *specimen = &writing->request.specimen;
	size_t first = strcspn(typed, ",");
	if (specimen->width_um[0])
		argp_error(state, "the cross-section is given twice, here as '%s'", typed);
	bool good = parse_length(typed, first, um_per_unit, &specimen->width_um[0]);
	specimen->width_um[1] = specimen->width_um[0];
	if (typed[first])
		good = parse_length(typed + first + 1, strlen(typed + first + 1), um_per_unit,
			       &specimen->width_um[1]) &&
		       good;
	if (!good)
		argp_error(state, "'%s' is no length, nor two with a comma between", typed);
	specimen->shape = shape;
}

static double take_number(struct argp_state *state, const char *what, const char *typed)
{
	struct decimal decimal;
	if (!decimal_parse(typed, strlen(typed), &decimal) || decimal.mantissa <= 0)
		argp_error(state, "%s must be a number above zero, not '%s'", what, typed);
	return decimal_double(decimal);
}

static bool parse_dimension(
	int key, const char *typed, struct argp_state *state, struct specimen *specimen)
{
	switch (key) {
	case KEY_DIAMETER_MM:
		take_widths(state, typed, UNITS_UM_PER_MM, SHAPE_CYLINDER);
		return true;
	case KEY_DIAMETER_IN:
		take_widths(state, typed, UNITS_UM_PER_INCH, SHAPE_CYLINDER);
		return true;
	case KEY_SIDE_MM:
		take_widths(state, typed, UNITS_UM_PER_MM, SHAPE_CUBE);
		return true;
	case KEY_SIDE_IN:
		take_widths(state, typed, UNITS_UM_PER_INCH, SHAPE_CUBE);
		return true;
	case KEY_LENGTH_MM:
	case KEY_HEIGHT_MM:
		take_length(state, typed, UNITS_UM_PER_MM, &specimen->length_um);
		return true;
	case KEY_LENGTH_IN:
	case KEY_HEIGHT_IN:
		take_length(state, typed, UNITS_UM_PER_INCH, &specimen->length_um);
		return true;
	default:
		return false;
	}
}

static bool parse_statement(
	int key, const char *typed, struct argp_state *state, struct specimen *specimen)
{
	struct writing *writing = state->input;
	switch (key) {
	case KEY_CORRECT:
		options_name(state, "a reason", typed, writing->request.note,
			sizeof(writing->request.note));
		writing->request.ask = REQUEST_CORRECT_SPECIMEN;
		return true;
	case KEY_SET:
		options_name(state, "a set name", typed, specimen->set, sizeof(specimen->set));
		return true;
	case 'm':
		options_name(state, "a method", typed, specimen->method, sizeof(specimen->method));
		return true;
	case KEY_CAST:
		if (!clocks_utc_parse(typed, &specimen->cast))
			argp_error(state,
				"--cast '%s' is no ISO 8601 time with its zone, like "
				"2026-11-18T09:30+01:00",
				typed);
		return true;
	case KEY_ANTICIPATED_MPA:
		specimen->anticipated_pa =
			take_number(state, "--anticipated-mpa", typed) * UNITS_PASCAL_PER_MPA;
		return true;
	case KEY_ANTICIPATED_PSI:
		specimen->anticipated_pa =
			take_number(state, "--anticipated-psi", typed) * UNITS_PASCAL_PER_PSI;
		return true;
	case KEY_RATE_MPA_S:
		specimen->chosen_rate_pa_s =
			take_number(state, "--rate-mpa-s", typed) * UNITS_PASCAL_PER_MPA;
		return true;
	default:
		return false;
	}
}

static error_t parse(int key, char *typed, struct argp_state *state)
{
	struct writing *writing = state->input;
	struct specimen *specimen = &writing->request.specimen;
	switch (key) {
	case ARGP_KEY_INIT:
		state->child_inputs[0] = writing;
		return 0;
	case ARGP_KEY_ARG:
		if (state->arg_num > 0)
			argp_error(state, "one specimen at a time; '%s' is one too many", typed);
		options_name(state, "a specimen id", typed, specimen->id, sizeof(specimen->id));
		return 0;
	case ARGP_KEY_END:
		if (!specimen->id[0])
			argp_error(state, "which specimen? Its ID comes first");
		if (!specimen->width_um[0])
			argp_error(state, "the strength needs an area: give --diameter-mm and "
					  "--length-mm, or --side-mm");
		return 0;
	default:
		if (parse_dimension(key, typed, state, specimen) ||
			parse_statement(key, typed, state, specimen))
			return 0;
		return ARGP_ERR_UNKNOWN;
	}
}

static void put_methods(struct text *text)
{
	for (size_t i = 0; i < methods_count(); i++)
		text_format(text, " %s", methods_at(i)->name);
}

/* argp's way to complete a help text: the methods that there are. */
static char *filter_help(int key, const char *help, void *input)
{
	char buffer[MESSAGE_SIZE];
	struct text text;
	(void)input;
	if (key != 'm')
		return (char *)(uintptr_t)help;
	text_init(&text, buffer, sizeof(buffer));
	text_put(&text, help);
	put_methods(&text);
	return strdup(buffer);
}

static bool check(const struct specimen *specimen, struct message *why)
{
	const struct method *method = method_find(specimen->method);
	char buffer[MESSAGE_SIZE];
	struct text names;
	if (method)
		return specimen_check(specimen, why) &&
		       method_specimen_check(method, specimen, why);
	text_init(&names, buffer, sizeof(buffer));
	put_methods(&names);
	return message_set(
		why, "there is no method '%s'; there are:%.300s", specimen->method, buffer);
}

int register_main(int argc, char **argv)
{
	const struct argp_child children[] = {{&writing_argp, 0, NULL, 0}, {0}};
	const struct argp argp = {options, parse, "ID",
		"Enters a specimen as measured before its test. An ID is given once; what was "
		"entered is never changed, and can be corrected beside it.",
		children, filter_help, NULL};
	struct writing writing = {.command = argv[0],
		.request = {.ask = REQUEST_REGISTER, .specimen = {.method = METHOD_DEFAULT}}};
	struct message why;
	argp_parse(&argp, argc, argv, 0, NULL, &writing);
	if (!check(&writing.request.specimen, &why)) {
		fprintf(stderr, "%s: %s\n", writing.command, why.text);
		return EXIT_CANNOT;
	}
	int code = writing_do(&writing);
	if (code == EXIT_DONE)
		printf("%s is %s, %.1f mm2\n", writing.request.specimen.id,
			writing.request.ask == REQUEST_REGISTER ? "registered" : "corrected",
			specimen_area_m2(&writing.request.specimen) * 1e6);
	return code;
}
