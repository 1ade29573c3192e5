/* SPDX-License-Identifier: MIT
 *
 * `ramplog verification`: what holds for a press, a certificate typed in, a verification taken with
 * the press at hand, or what makes one due at once.
 */
#include "verification.h"

#include "commands.h"
#include "now.h"
#include "options.h"
#include "stored.h"
#include "table.h"
#include "wire/verification_json.h"
#include "words.h"

#include <assert.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
	KEY_RECORD = 256,
	KEY_TAKE,
	KEY_DATE,
	KEY_REFERENCE,
	KEY_CERTIFICATE,
	KEY_RANGE,
	KEY_INCREMENT,
	KEY_RESOLUTION,
	KEY_ERROR,
	KEY_RELOCATION,
	KEY_REPAIR,
	KEY_DOUBT,
};

static const struct argp_option options[] = {
	{NULL, 0, NULL, 0, "What is to be done (without one of these: show what holds)", 1},
	{"record", KEY_RECORD, NULL, 0, "enter a certificate", 1},
	{"take", KEY_TAKE, NULL, 0, "apply forces and compare, step by step", 1},
	{"relocation", KEY_RELOCATION, "NOTE", 0, "the press was moved: verification is due", 1},
	{"repair", KEY_REPAIR, "NOTE", 0, "it was repaired or adjusted: likewise", 1},
	{"doubt", KEY_DOUBT, "NOTE", 0, "its accuracy is doubted: likewise", 1},
	{NULL, 0, NULL, 0, "Of a verification", 2},
	{"reference", KEY_REFERENCE, "TEXT", 0, "the reference device and its own certificate", 2},
	{"certificate", KEY_CERTIFICATE, "NUMBER", 0, "the certificate's number", 2},
	{"increment", KEY_INCREMENT, "LOAD", 0, "smallest change of load that can be read", 2},
	{"date", KEY_DATE, "TIME", 0, "when it was carried out, or happened (ISO 8601)", 2},
	{"range", KEY_RANGE, "LOW,HIGH", 0, "the verified range as printed, e.g. 200kN,2000kN", 2},
	{"resolution", KEY_RESOLUTION, "LOAD", 0, "as printed; the increment unless given", 2},
	{"error", KEY_ERROR, "E1[,E2]", 0,
		"percent errors of one force in both runs, rising forces; again for each", 2},
	{0},
};

enum action { ACTION_SHOW, ACTION_RECORD, ACTION_TAKE, ACTION_UPKEEP };

struct arguments {
	struct writing writing;
	enum action action;
	bool json;
	struct utc_time date; /* ns 0: not given */
};

bool verification_parse_load(const char *typed, int64_t *load_un)
{
	struct decimal number;
	size_t length = strspn(typed, "+-.0123456789");
	const char *name = typed + length + strspn(typed + length, " ");
	enum unit unit = UNIT_KILONEWTON;
	return decimal_parse(typed, length, &number) &&
	       (name[0] == '\0' || units_parse(name, strlen(name), &unit)) &&
	       units_load_un(unit, number, load_un);
}

static void take_load(struct argp_state *state, const char *typed, int64_t *load_un)
{
	if (!verification_parse_load(typed, load_un) || *load_un <= 0)
		argp_error(state, "'%s' is no load above zero, like 0.1kN or 450lbf", typed);
}

static void take_range(struct argp_state *state, char *typed, struct verification *verification)
{
	char *comma = strchr(typed, ',');
	if (!comma)
		argp_error(state, "--range needs two loads with a comma between, not '%s'", typed);
	assert(comma); /* argp_error does not come back */
	*comma = '\0';
	take_load(state, typed, &verification->low_un);
	take_load(state, comma + 1, &verification->high_un);
}

static bool parse_percent(const char *text, size_t length, double *percent)
{
	struct decimal decimal;
	if (!decimal_parse(text, length, &decimal))
		return false;
	*percent = decimal_double(decimal);
	return true;
}

static void take_error(
	struct argp_state *state, const char *typed, struct verification *verification)
{
	if (verification->force_count == VERIFICATION_FORCES_MAX)
		argp_error(state, "more than %d forces", VERIFICATION_FORCES_MAX);
	double *errors = verification->forces[verification->force_count++].error_percent;
	size_t first = strcspn(typed, ",");
	bool good = parse_percent(typed, first, &errors[0]);
	errors[1] = errors[0];
	if (typed[first])
		good = parse_percent(typed + first + 1, strlen(typed + first + 1), &errors[1]) &&
		       good;
	if (!good)
		argp_error(state, "'%s' is no error in percent, nor two with a comma", typed);
}

static void take_action(struct argp_state *state, enum action action)
{
	struct arguments *arguments = state->input;
	if (arguments->action != ACTION_SHOW)
		argp_error(state, "one thing at a time: --record, --take, or what happened");
	arguments->action = action;
}

static void take_upkeep(struct argp_state *state, enum upkeep upkeep, const char *note)
{
	struct arguments *arguments = state->input;
	struct request *request = &arguments->writing.request;
	take_action(state, ACTION_UPKEEP);
	request->upkeep = upkeep;
	options_name(state, "a note", note, request->note, VERIFICATION_TEXT_SIZE);
}

static void check_complete(struct argp_state *state, const struct arguments *arguments)
{
	const struct verification *verification = &arguments->writing.request.verification;
	bool entered = arguments->action == ACTION_RECORD || arguments->action == ACTION_TAKE;
	if (!arguments->writing.request.press[0])
		argp_error(state, "which PRESS?");
	if (entered && (!verification->reference[0] || !verification->increment_un))
		argp_error(state, "--reference and --increment are needed (see --help)");
	if (arguments->action == ACTION_RECORD && (!verification->high_un || !arguments->date.ns))
		argp_error(state, "a certificate has a --date and a --range");
	if (arguments->action == ACTION_TAKE && (verification->high_un || arguments->date.ns))
		argp_error(state, "--take finds range and date by itself");
}

static bool parse_text(
	int key, char *typed, struct argp_state *state, struct verification *verification)
{
	switch (key) {
	case KEY_REFERENCE:
		options_name(state, "a reference", typed, verification->reference,
			sizeof(verification->reference));
		return true;
	case KEY_CERTIFICATE:
		options_name(state, "a certificate", typed, verification->certificate,
			sizeof(verification->certificate));
		return true;
	case KEY_INCREMENT:
		take_load(state, typed, &verification->increment_un);
		return true;
	case KEY_RESOLUTION:
		take_load(state, typed, &verification->resolution_un);
		return true;
	case KEY_RANGE:
		take_range(state, typed, verification);
		return true;
	case KEY_ERROR:
		take_error(state, typed, verification);
		return true;
	default:
		return false;
	}
}

static bool parse_action(int key, char *typed, struct argp_state *state)
{
	switch (key) {
	case KEY_RECORD:
		take_action(state, ACTION_RECORD);
		return true;
	case KEY_TAKE:
		take_action(state, ACTION_TAKE);
		return true;
	case KEY_RELOCATION:
		take_upkeep(state, UPKEEP_RELOCATION, typed);
		return true;
	case KEY_REPAIR:
		take_upkeep(state, UPKEEP_REPAIR, typed);
		return true;
	case KEY_DOUBT:
		take_upkeep(state, UPKEEP_DOUBT, typed);
		return true;
	default:
		return false;
	}
}

static error_t parse(int key, char *typed, struct argp_state *state)
{
	struct arguments *arguments = state->input;
	struct request *request = &arguments->writing.request;
	switch (key) {
	case ARGP_KEY_INIT:
		state->child_inputs[0] = &arguments->writing;
		state->child_inputs[1] = &arguments->json;
		return 0;
	case KEY_DATE:
		arguments->date = options_time(state, "--date", typed);
		return 0;
	case ARGP_KEY_ARG:
		options_press(state, typed, request->press, sizeof request->press);
		return 0;
	case ARGP_KEY_END:
		check_complete(state, arguments);
		return 0;
	default:
		if (parse_action(key, typed, state) ||
			parse_text(key, typed, state, &request->verification))
			return 0;
		return ARGP_ERR_UNKNOWN;
	}
}

/* ---- what holds */

static double kilonewton(int64_t load_un)
{
	return (double)load_un * 1e-9;
}

static void add_force(struct table *table, size_t number, const struct verification_force *force)
{
	char texts[7][24];
	snprintf(texts[0], sizeof(texts[0]), "  %zu", number);
	for (size_t run = 0; run < VERIFICATION_RUNS; run++) {
		bool known = force->true_un[run] > 0;
		snprintf(texts[1 + 3 * run], 24, known ? "%.3f" : "-",
			kilonewton(force->true_un[run]));
		snprintf(texts[2 + 3 * run], 24, known ? "%.3f" : "-",
			kilonewton(force->indicated_un[run]));
		snprintf(texts[3 + 3 * run], 24, "%+.2f", force->error_percent[run]);
	}
	for (size_t i = 0; i < 7; i++)
		table_add(table, texts[i]);
}

void verification_print(const struct verification *verification)
{
	static const char *const heads[] = {"  force", "true 1, kN", "read 1, kN", "error 1, %",
		"true 2, kN", "read 2, kN", "error 2, %"};
	struct table table;
	if (verification->force_count > 0) {
		table_init(&table, "lrrrrrr");
		for (size_t i = 0; i < sizeof(heads) / sizeof(*heads); i++)
			table_add(&table, heads[i]);
		for (size_t i = 0; i < verification->force_count; i++)
			add_force(&table, i + 1, &verification->forces[i]);
		table_print(&table, stdout);
		table_finish(&table);
	}
	printf("  resolution %.10g kN, lowest verifiable load %.10g kN\n",
		kilonewton(verification->resolution_un),
		kilonewton(verification_floor_un(verification)));
	if (verification->force_count > 0)
		printf("  largest error %+.2f %%, repeatability %.2f %%\n",
			verification->worst_percent, verification->repeatability_percent);
	if (verification->guided)
		printf("  return to zero %.3f kN and %.3f kN\n",
			kilonewton(verification->return_un[0]),
			kilonewton(verification->return_un[1]));
	if (verification->passed)
		printf("  PASSED, verified from %.10g to %.10g kN\n",
			kilonewton(verification->low_un), kilonewton(verification->high_un));
	else
		printf("  FAILED: %s\n", verification->reason);
}

static bool print_stored(
	void *context, const struct verification *verification, const struct recorded *recorded)
{
	char verified[CLOCKS_UTC_TEXT_SIZE], at[CLOCKS_UTC_TEXT_SIZE];
	(void)context;
	words_time(verification->verified, verified);
	words_time(recorded->at, at);
	printf("\nverification %" PRId64 ", %s, %s%s%s\n  reference: %s\n  entered %s by %s\n",
		verification->number, verified,
		verification->guided ? "taken here" : "from a certificate",
		verification->certificate[0] ? " " : "", verification->certificate,
		verification->reference, at, recorded->by.name);
	verification_print(verification);
	return true;
}

static bool print_upkeep(void *context, enum upkeep upkeep, struct utc_time happened,
	const char *note, const struct recorded *recorded)
{
	char day[CLOCKS_UTC_TEXT_SIZE];
	(void)context;
	words_time(happened, day);
	printf("%s %s%s%s (%s)\n", day, upkeep_text(upkeep), note[0] ? ": " : "", note,
		recorded->by.name);
	return true;
}

static bool list_verification(
	void *context, const struct verification *verification, const struct recorded *recorded)
{
	json_t *object = verification_json(verification);
	json_object_set_new(object, "by", json_string(recorded->by.name));
	json_array_append_new(context, object);
	return true;
}

static bool list_upkeep(void *context, enum upkeep upkeep, struct utc_time happened,
	const char *note, const struct recorded *recorded)
{
	char time[CLOCKS_UTC_TEXT_SIZE];
	clocks_utc_text(happened, time);
	json_array_append_new(
		context, json_pack("{s:s, s:s, s:s, s:s}", "kind", upkeep_text(upkeep), "happened",
				 time, "note", note, "by", recorded->by.name));
	return true;
}

static int put_json(const char *command, const char *press, const struct standing *standing,
	struct store *store)
{
	json_t *object = json_pack("{s:s}", "press", press);
	json_t *verifications = json_array(), *upkeep = json_array();
	verification_json_standing(object, standing, 0);
	enum store_status status =
		store_verifications_each(store, press, list_verification, verifications);
	if (status == STORE_OK)
		status = store_upkeep_each(store, press, list_upkeep, upkeep);
	json_object_set_new(object, "verifications", verifications);
	json_object_set_new(object, "upkeep", upkeep);
	if (status == STORE_OK)
		return stored_put_json(command, object);
	json_decref(object);
	return stored_failed(command, store, status);
}

static int put_text(const char *command, const char *press, const struct standing *standing,
	struct store *store)
{
	struct message why;
	char due[CLOCKS_UTC_TEXT_SIZE];
	words_time(standing->due, due);
	if (standing_reportable(standing, 0, &why))
		printf("%s is verified from %.10g to %.10g kN, due %s\n", press,
			kilonewton(standing->low_un), kilonewton(standing->high_un), due);
	else
		printf("%s: %s\n", press, why.text);
	enum store_status status = store_upkeep_each(store, press, print_upkeep, NULL);
	if (status == STORE_OK)
		status = store_verifications_each(store, press, print_stored, NULL);
	return status == STORE_OK ? EXIT_DONE : stored_failed(command, store, status);
}

static int show(const struct arguments *arguments)
{
	const struct writing *writing = &arguments->writing;
	const char *press = writing->request.press;
	struct standing standing;
	struct store *store;
	int code = stored_open(writing->command, writing->database, &store);
	if (code != EXIT_DONE)
		return code;
	enum store_status status = store_standing(store, press, now(), &standing);
	if (status != STORE_OK)
		code = stored_failed(writing->command, store, status);
	else if (arguments->json)
		code = put_json(writing->command, press, &standing, store);
	else
		code = put_text(writing->command, press, &standing, store);
	store_close(store);
	if (code == EXIT_DONE && !standing_reportable(&standing, 0, NULL))
		return EXIT_NO;
	return code;
}

/* ---- storing */

/* The daemon has judged it: its word counts. */
static int store_verification(struct writing *writing)
{
	json_t *answer = NULL;
	writing->answer = &answer;
	int code = writing_do(writing);
	writing->answer = NULL;
	if (code != EXIT_DONE)
		return code;
	const json_t *stored = json_object_get(answer, "verification");
	bool passed = json_is_true(json_object_get(stored, "passed"));
	const char *reason = json_string_value(json_object_get(stored, "reason"));
	printf("verification %" JSON_INTEGER_FORMAT " of %s is stored: %s%s\n",
		json_integer_value(json_object_get(stored, "number")), writing->request.press,
		passed ? "passed" : "FAILED: ", passed || !reason ? "" : reason);
	json_decref(answer);
	return passed ? EXIT_DONE : EXIT_NO;
}

static int record(struct arguments *arguments)
{
	struct verification *verification = &arguments->writing.request.verification;
	verification->verified = arguments->date;
	if (!verification->resolution_un)
		verification->resolution_un = verification->increment_un;
	return store_verification(&arguments->writing);
}

static int take(struct arguments *arguments)
{
	int code = verification_take(&arguments->writing);
	return code == EXIT_DONE ? store_verification(&arguments->writing) : code;
}

static int enter_upkeep(struct arguments *arguments)
{
	struct request *request = &arguments->writing.request;
	request->ask = REQUEST_UPKEEP;
	request->happened = arguments->date;
	int code = writing_do(&arguments->writing);
	if (code == EXIT_DONE)
		printf("%s of %s is recorded: no load is reportable until it is verified again\n",
			upkeep_text(request->upkeep), request->press);
	return code;
}

int verification_main(int argc, char **argv)
{
	const struct argp_child children[] = {
		{&writing_argp, 0, NULL, 0}, {&options_json, 0, NULL, 0}, {0}};
	const struct argp argp = {options, parse, "PRESS",
		"Shows whether a press is verified, its verifications and what happened to it; or "
		"enters one. Exits with 1 where it is not verified, or did not pass."
		"\v"
		"Rules of ASTM E4, with ASTM C39's for the range: errors within 1.0 % of the true "
		"force, two errors of one force within 1.0 %, five forces or more, due again after "
		"13 months. What a verification finds never corrects a load.",
		children, NULL, NULL};
	struct arguments arguments = {
		.writing = {.command = argv[0], .request = {.ask = REQUEST_VERIFICATION}}};
	argp_parse(&argp, argc, argv, 0, NULL, &arguments);
	switch (arguments.action) {
	case ACTION_SHOW:
		return show(&arguments);
	case ACTION_RECORD:
		return record(&arguments);
	case ACTION_TAKE:
		return take(&arguments);
	case ACTION_UPKEEP:
		return enter_upkeep(&arguments);
	}
	return EXIT_CANNOT;
}
