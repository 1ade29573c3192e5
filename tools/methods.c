/* SPDX-License-Identifier: MIT
 *
 * `ramplog methods`: which test methods there are, what was understood of their files, every error
 * in them; and that somebody compared one with the laboratory's own copy of the standard.
 */
#include "base/decimal.h"
#include "commands.h"
#include "options.h"
#include "store/method_folder.h"
#include "table.h"
#include "words.h"
#include "writing.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { KEY_CONFIRM = 256, KEY_EDITION };

struct asked {
	struct writing writing;
	const char *name;
	const char *check;
	const char *confirm;
};

static const struct argp_option options[] = {
	{"check", 'c', "FILE", 0, "read this file, tell its errors, show it", 2},
	{"confirm", KEY_CONFIRM, "METHOD", 0,
		"you compared this method, value by value, with the laboratory's own copy of the "
		"standard, and they agree",
		3},
	{"edition", KEY_EDITION, "EDITION", 0, "of that copy, as it is printed on it", 3},
	{"note", 'n', "TEXT", 0, "what else should be known: which pages, which copy", 3},
	{0},
};

static void check_words(struct argp_state *state, const struct asked *asked)
{
	const struct request *request = &asked->writing.request;
	if (asked->confirm && (asked->name || asked->check))
		argp_error(state, "--confirm names its method itself, and stands alone");
	if (asked->confirm && !request->edition[0])
		argp_error(state, "which --edition of the standard was it compared with?");
	if (!asked->confirm && (request->edition[0] || request->note[0]))
		argp_error(state, "--edition and --note belong to --confirm METHOD");
}

static error_t parse(int key, char *typed, struct argp_state *state)
{
	struct asked *asked = state->input;
	struct request *request = &asked->writing.request;
	switch (key) {
	case ARGP_KEY_INIT:
		state->child_inputs[0] = &asked->writing;
		return 0;
	case 'c':
		asked->check = typed;
		return 0;
	case KEY_CONFIRM:
		asked->confirm = typed;
		return 0;
	case KEY_EDITION:
		options_name(state, "an edition", typed, request->edition, sizeof request->edition);
		return 0;
	case 'n':
		options_name(state, "a note", typed, request->note, sizeof request->note);
		return 0;
	case ARGP_KEY_END:
		check_words(state, asked);
		return 0;
	case ARGP_KEY_ARG:
		if (asked->name)
			argp_error(state, "one method at a time; '%s' is one too many", typed);
		asked->name = typed;
		return 0;
	default:
		return ARGP_ERR_UNKNOWN;
	}
}

static void complain(void *context, const char *text)
{
	(void)context;
	fprintf(stderr, "%s\n", text);
}

static void put_rate(const struct method *method)
{
	const char *unit = rate_unit_text(method->rate_unit);
	if (method->time_high_s > 0)
		printf("rate        the judged span lasts %g to %g s\n", method->time_low_s,
			method->time_high_s);
	else if (method->chosen_default > 0)
		printf("rate        chosen within %g to %g %s (%g unless chosen), held to %g %%\n",
			method->chosen_low, method->chosen_high, unit, method->chosen_default,
			100 * method->chosen_tolerance);
	else
		printf("rate        %g to %g %s\n", method->band_low, method->band_high, unit);
	printf("judged      from %g %% of the %s load to %g %% of the maximum, window %g s\n",
		100 * method->span_from, method->basis_anticipated ? "anticipated" : "maximum",
		100 * method->span_to, (double)method->window_ns * 1e-9);
}

static void put_step(const struct method *method)
{
	char step[24];
	int places = method->report_exponent < 0 ? -method->report_exponent : 0;
	int64_t value = method->report_step;
	for (int i = 0; i < method->report_exponent; i++)
		value *= 10;
	decimal_text(value, places, step);
	printf("reported    to %s %s\n", step, method->report_unit);
}

static void put_strength(const struct method *method)
{
	if (method->report_figures)
		printf("reported    %d significant figures, %s\n", method->report_figures,
			method->report_unit);
	else
		put_step(method);
	for (size_t i = 0; i < method->factor_count; i++)
		printf("%s %.2f : %.2f\n", i == 0 ? "factor     " : "           ",
			method->factors[i].ratio, method->factors[i].factor);
	if (method->factor_count > 0)
		printf("            %s a length / width of %g\n",
			method->factor_below ? "below" : "at most", method->factor_ratio_max);
	if (method->ratio_min > 0)
		printf("            no result below %g\n", method->ratio_min);
	for (size_t i = 0; i < method->size_factor_count; i++)
		printf("            %g mm: %g\n", (double)method->size_factors[i].width_um / 1e3,
			method->size_factors[i].factor);
}

static void put_specimen(const struct method *method)
{
	static const char *const formulas[] = {"load / area", "2 x load / (pi x length x diameter)",
		"load x span / (width x depth^2)"};
	printf("shapes     ");
	for (int shape = 0; shape < SHAPE_COUNT; shape++) {
		if (method->shapes & 1U << shape)
			printf(" %s", shape_text((enum shape)shape));
	}
	printf("\nstrength    %s\n", formulas[method->formula]);
	if (method->widths_apart > 0)
		printf("widths      apart by %g %% at most\n", 100 * method->widths_apart);
	if (method->width_to_um > 0)
		printf("            measured to %g mm\n", (double)method->width_to_um / 1e3);
	if (method->square_within_deg > 0)
		printf("ends        square within %g degrees\n", method->square_within_deg);
	if (method->plane_within_um > 0)
		printf("            plane within %g mm\n", (double)method->plane_within_um / 1e3);
	for (size_t i = 0; i < method->pad_count; i++)
		printf("pads        hardness %d: %g to %g MPa, %d uses%s\n",
			method->pads[i].hardness, method->pads[i].low_pa / 1e6,
			method->pads[i].high_pa / 1e6, method->pads[i].uses,
			method->pads[i].qualified ? ", after qualification" : "");
	for (size_t i = 0; i < method->face_count; i++)
		printf("upper face  %g mm for %g mm at most\n",
			(double)method->faces[i].face_um / 1e3,
			(double)method->faces[i].width_um / 1e3);
}

static void put_rest(const struct method *method)
{
	static const char *const worths[] = {[METHOD_FRACTURE_GOOD] = "",
		[METHOD_FRACTURE_DOUBT] = " (doubtful)",
		[METHOD_FRACTURE_VOID] = " (no result)",
		[METHOD_FRACTURE_DISTANCE] = " (computed from the distance)"};
	const double hour_ns = 3600e9;
	for (size_t i = 0; i < method->age_count; i++)
		printf("age         %g h +- %g h\n", (double)method->ages[i].age_ns / hour_ns,
			(double)method->ages[i].tolerance_ns / hour_ns);
	if (method->age_other > 0)
		printf("            others +- %g %%\n", 100 * method->age_other);
	for (size_t i = 0; i < method->range_count; i++)
		printf("companions  %d of %g mm, %s: range %g %% of the mean\n",
			method->ranges[i].count, (double)method->ranges[i].width_um / 1e3,
			method->ranges[i].field ? "field" : "laboratory",
			method->ranges[i].percent);
	if (method->apart_max > 0)
		printf("            each within %g %% of the mean\n", 100 * method->apart_max);
	for (size_t i = 0; i < method->fracture_count; i++)
		printf("fracture    %d: %s%s\n", method->fractures[i].type,
			method->fractures[i].words, worths[method->fractures[i].worth]);
	for (size_t i = 0; i < method->unsure_count; i++)
		printf("not sure    %s\n", method->unsure[i]);
}

static void put_method(const struct method *method, const char *source)
{
	printf("%s: %s%s%s\n", method->name, method->standard, method->edition[0] ? ", " : "",
		method->edition);
	if (method->title[0])
		printf("%s\n", method->title);
	printf("from        %s\n", source[0] ? source : "built in");
	put_specimen(method);
	put_rate(method);
	put_strength(method);
	put_rest(method);
}

/* "" where no database says it. */
static void confirmed_text(
	struct store *store, const struct method *method, char *text, size_t size)
{
	struct method_confirmation confirmation;
	text[0] = '\0';
	if (!store)
		return;
	enum store_status status = store_method_confirmed(store, method, &confirmation);
	if (status == STORE_OK)
		snprintf(text, size, "%s", confirmation.edition);
	else if (status == STORE_NONE)
		snprintf(text, size, "no");
}

static bool list(struct store *store)
{
	struct table table;
	bool good = true;
	table_init(&table, "lllrll");
	const char *const heads[] = {
		"method", "standard", "edition", "not sure", "confirmed", "from"};
	for (size_t i = 0; i < sizeof heads / sizeof heads[0]; i++)
		good = table_add(&table, heads[i]) && good;
	for (size_t i = 0; i < methods_count(); i++) {
		const struct method *method = methods_at(i);
		const char *source = methods_source(method);
		char unsure[24], confirmed[STORE_NAME_SIZE];
		snprintf(unsure, sizeof unsure, "%zu", method->unsure_count);
		confirmed_text(store, method, confirmed, sizeof confirmed);
		good = table_add(&table, method->name) && table_add(&table, method->standard) &&
		       table_add(&table, method->edition[0] ? method->edition : "-") &&
		       table_add(&table, unsure) &&
		       table_add(&table, confirmed[0] ? confirmed : "?") &&
		       table_add(&table, source[0] ? source : "built in") && good;
	}
	table_print(&table, stdout);
	table_finish(&table);
	return good;
}

static void put_confirmation(struct store *store, const struct method *method)
{
	struct method_confirmation confirmation;
	char at[CLOCKS_UTC_TEXT_SIZE];
	enum store_status status =
		store ? store_method_confirmed(store, method, &confirmation) : STORE_NOT_FOUND;
	if (status == STORE_NONE)
		puts("confirmed   not by the laboratory: compare it with your own copy of the "
		     "standard, then\n"
		     "            ramplog methods --confirm METHOD --edition EDITION");
	if (status != STORE_OK)
		return;
	words_time(confirmation.at, at);
	printf("confirmed   against %s by %s, %s%s%s\n", confirmation.edition, confirmation.by.name,
		at, confirmation.note[0] ? ": " : "", confirmation.note);
}

static int check_file(const char *path)
{
	struct method *method = calloc(1, sizeof *method);
	int code = EXIT_NO;
	if (method && method_folder_check(path, method, complain, NULL)) {
		put_method(method, path);
		code = EXIT_DONE;
	}
	free(method);
	return code;
}

/* A text with errors is not in force: nobody confirms what lies beside it. */
static int confirm(struct asked *asked, size_t bad)
{
	struct request *request = &asked->writing.request;
	const struct method *method = method_find(asked->confirm);
	if (!method || bad > 0) {
		fprintf(stderr,
			method ? "%s: the errors above come first\n"
			       : "%s: there is no method '%s'; `ramplog methods` lists them\n",
			asked->writing.command, asked->confirm);
		return EXIT_CANNOT;
	}
	memcpy(request->method, method->name, sizeof request->method);
	snprintf(request->method_text, sizeof request->method_text, "%s", method->text);
	int code = writing_do(&asked->writing);
	if (code == EXIT_DONE)
		printf("%s is confirmed against %s\n", method->name, request->edition);
	return code;
}

static int show(const struct asked *asked, struct store *store)
{
	const struct method *method = asked->name ? method_find(asked->name) : NULL;
	if (!asked->name && list(store))
		return EXIT_DONE;
	if (!asked->name) {
		fprintf(stderr, "%s: memory is short\n", asked->writing.command);
		return EXIT_CANNOT;
	}
	if (!method) {
		fprintf(stderr, "%s: there is no method '%s'\n", asked->writing.command,
			asked->name);
		return EXIT_NO;
	}
	put_method(method, methods_source(method));
	put_confirmation(store, method);
	return EXIT_DONE;
}

int methods_main(int argc, char **argv)
{
	const struct argp_child children[] = {{&writing_argp, 0, NULL, 0}, {0}};
	const struct argp argp = {options, parse, "[METHOD]",
		"Lists the test methods: those built in, and those of the folder that "
		"$RAMPLOG_METHODS names (else " METHOD_FOLDER_DEFAULT "), with every error in its "
		"files; or shows what is understood of one; or confirms one.",
		children, NULL, NULL};
	struct asked asked = {
		.writing = {.command = argv[0], .request = {.ask = REQUEST_CONFIRM_METHOD}}};
	struct store *store;
	struct message why;
	argp_parse(&argp, argc, argv, 0, NULL, &asked);
	if (asked.check)
		return check_file(asked.check);
	size_t bad = method_folder_load(commands_method_folder(), complain, NULL);
	if (asked.confirm)
		return confirm(&asked, bad);
	/* Methods are there without a database; then what the laboratory confirmed is not known. */
	if (store_open(&store, asked.writing.database, STORE_READ, &why) != STORE_OK)
		store = NULL;
	int code = show(&asked, store);
	store_close(store);
	return code == EXIT_DONE && bad ? EXIT_NO : code;
}
