/* SPDX-License-Identifier: MIT
 *
 * `ramplog register`: a specimen as measured; or those whose ids are typed or scanned one after the
 * other, all alike; or those of a CSV file.
 */
#include "register_csv.h"

#include "ask.h"
#include "base/text.h"
#include "commands.h"
#include "lot.h"
#include "options.h"
#include "register_write.h"
#include "result/methods.h"

#include <stdio.h>
#include <string.h>

enum { KEY_FIELD = 1000, KEY_CORRECT = 256, KEY_CSV, OPTIONS_MAX = 48 };

#define METHOD_DEFAULT "astm-c39"

struct asked {
	struct writing writing;
	struct registration registration;
	const char *csv;
};

static const struct argp_option own_options[] = {
	{"correct", KEY_CORRECT, "REASON", 0,
		"the specimen is registered already, with wrong data: these are the right ones, "
		"all of them; say why",
		2},
	{"csv", KEY_CSV, "FILE", 0,
		"those of a file: its first line names columns, which are called id and like the "
		"options; what is given beside it holds where a cell is empty",
		2},
};

/* From the table; the method's help is the list of methods, see filter_help. */
static void make_options(struct argp_option *options)
{
	size_t count = 0;
	for (size_t i = 0; i < sizeof own_options / sizeof own_options[0]; i++)
		options[count++] = own_options[i];
	for (size_t i = 0; registration_fields[i].name; i++) {
		const struct registration_field *field = &registration_fields[i];
		bool method = strcmp(field->name, "method") == 0;
		options[count++] = (struct argp_option){field->name,
			method ? 'm' : KEY_FIELD + (int)i, field->argument, 0,
			field->help ? field->help
				    : "the test method, " METHOD_DEFAULT " unless given; one of",
			field->group};
	}
	options[count] = (struct argp_option){0};
}

static void take_field(struct argp_state *state, const char *typed, size_t i)
{
	struct asked *asked = state->input;
	struct message why;
	if (!registration_take(&asked->registration, i, typed, &why))
		argp_error(state, "--%s: %s", registration_fields[i].name, why.text);
}

static size_t find_field(const char *name)
{
	size_t i = 0;
	while (strcmp(registration_fields[i].name, name) != 0)
		i++;
	return i;
}

static void check_words(struct argp_state *state, const struct asked *asked)
{
	if (asked->csv && (asked->registration.specimen.id[0] || asked->writing.request.note[0]))
		argp_error(state, "--csv registers what its file names, and nothing else");
}

static error_t parse(int key, char *typed, struct argp_state *state)
{
	struct asked *asked = state->input;
	struct request *request = &asked->writing.request;
	struct specimen *specimen = &asked->registration.specimen;
	switch (key) {
	case ARGP_KEY_INIT:
		state->child_inputs[0] = &asked->writing;
		return 0;
	case KEY_CORRECT:
		options_name(state, "a reason", typed, request->note, sizeof(request->note));
		request->ask = REQUEST_CORRECT_SPECIMEN;
		return 0;
	case KEY_CSV:
		asked->csv = typed;
		return 0;
	case 'm':
		take_field(state, typed, find_field("method"));
		return 0;
	case ARGP_KEY_ARG:
		if (state->arg_num > 0)
			argp_error(state, "one specimen at a time; '%s' is one too many", typed);
		options_name(state, "a specimen id", typed, specimen->id, sizeof(specimen->id));
		return 0;
	case ARGP_KEY_END:
		check_words(state, asked);
		return 0;
	default:
		if (key < KEY_FIELD || key >= KEY_FIELD + OPTIONS_MAX)
			return ARGP_ERR_UNKNOWN;
		take_field(state, typed, (size_t)(key - KEY_FIELD));
		return 0;
	}
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
	for (size_t i = 0; i < methods_count(); i++)
		text_format(&text, " %s", methods_at(i)->name);
	return strdup(buffer);
}

static int finish_and_write(struct asked *asked, struct registration *registration)
{
	struct message why;
	if (!registration_finish(registration, &why)) {
		fprintf(stderr, "%s: %s\n", asked->writing.command, why.text);
		return EXIT_CANNOT;
	}
	return register_write(&asked->writing, registration);
}

/* Of a lot whose measured specimens stand for all: what is measured on this one is part of their
 * mean, and where nothing is, the mean must be allowed. */
static int register_in_lot(
	struct asked *asked, struct registration *registration, const struct lot *lot)
{
	const struct method *method = method_find(registration->specimen.method);
	const struct detail *detail = &registration->detail;
	int64_t widths_um[LOT_MAX + 1], mean_um = 0;
	size_t measured = 0;
	struct message why;
	if (registration->has_shape)
		widths_um[measured++] = detail_mean_um(detail->widths_um, detail->width_count);
	lot_add_measured(lot, widths_um, &measured);
	bool allowed = method &&
		       detail_reduced(method, widths_um, measured, lot->count + 1, &mean_um, &why);
	if (!allowed && registration->has_shape) {
		fprintf(stderr, "%s: NOTE: lot %s, of which others were not measured: %s\n",
			registration->specimen.id, detail->lot, method ? why.text : "no method");
		return finish_and_write(asked, registration);
	}
	if (!allowed) {
		fprintf(stderr, "%s: %s was not measured, and lot %s does not stand for it: %s\n",
			asked->writing.command, registration->specimen.id, detail->lot,
			method ? why.text : "there is no such method");
		return EXIT_CANNOT;
	}
	lot_set_mean(registration, mean_um);
	int code = finish_and_write(asked, registration);
	return code == EXIT_DONE ? lot_use_mean(&asked->writing, lot, mean_um) : code;
}

static int register_one(struct asked *asked)
{
	struct registration registration = asked->registration;
	struct lot lot;
	struct message why;
	bool is_new = asked->writing.request.ask == REQUEST_REGISTER;
	if (!is_new || !registration.detail.lot[0])
		return finish_and_write(asked, &registration);
	int code = EXIT_CANNOT;
	if (!lot_load(asked->writing.database, &registration, &lot, &why))
		fprintf(stderr, "%s: %s\n", asked->writing.command, why.text);
	else if (registration_is_unmeasured(&registration) || lot_is_reduced(&lot))
		code = register_in_lot(asked, &registration, &lot);
	else
		code = finish_and_write(asked, &registration);
	lot_finish(&lot);
	return code;
}

/* One specimen after the other, all with the data given; a scanner types its line for itself. */
static int register_asked(struct asked *asked)
{
	struct specimen *specimen = &asked->registration.specimen;
	char id[SPECIMEN_NAME_SIZE];
	int code = EXIT_DONE;
	bool any = false;
	if (asked->writing.request.ask == REQUEST_CORRECT_SPECIMEN) {
		fprintf(stderr, "%s: which specimen is corrected? Its ID comes first\n",
			asked->writing.command);
		return EXIT_CANNOT;
	}
	while (ask_line("specimen (scan or type its id; an empty line ends): ", id, sizeof id)) {
		memcpy(specimen->id, id, sizeof specimen->id);
		int one = register_one(asked);
		code = one > code ? one : code;
		any = true;
	}
	if (any)
		return code;
	fprintf(stderr, "%s: which specimen? No id was given\n", asked->writing.command);
	return EXIT_CANNOT;
}

int register_main(int argc, char **argv)
{
	const struct argp_child children[] = {{&writing_argp, 0, NULL, 0}, {0}};
	struct argp_option options[OPTIONS_MAX];
	make_options(options);
	const struct argp argp = {options, parse, "[ID]",
		"Enters a specimen as measured before its test; without an ID, those whose ids are "
		"typed or scanned, all with the data given. An ID is given once; what was entered "
		"is never changed, and can be corrected beside it.",
		children, filter_help, NULL};
	struct asked asked = {
		.writing = {.command = argv[0], .request = {.ask = REQUEST_REGISTER}}};
	registration_init(&asked.registration);
	argp_parse(&argp, argc, argv, 0, NULL, &asked);
	struct specimen *specimen = &asked.registration.specimen;
	if (!specimen->method[0])
		strcpy(specimen->method, METHOD_DEFAULT);
	if (asked.csv)
		return register_csv(&asked.writing, &asked.registration, asked.csv);
	return specimen->id[0] ? register_one(&asked) : register_asked(&asked);
}
