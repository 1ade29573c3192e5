/* SPDX-License-Identifier: MIT
 *
 * `ramplog set`: companions and what they make together; the terms they are accepted by; the tests
 * of one concrete in a row.
 */
#include "commands.h"
#include "options.h"
#include "output.h"
#include "set_chart.h"
#include "set_show.h"
#include "stored.h"
#include "writing.h"

#include "base/decimal.h"
#include "base/units.h"

#include <stdlib.h>
#include <string.h>

enum {
	KEY_SERIES = 256,
	KEY_IN_SERIES,
	KEY_RULE,
	KEY_SPECIFIED_MPA,
	KEY_SPECIFIED_PSI,
	KEY_SIGMA_MPA,
	KEY_SIGMA_PSI,
	KEY_FIELD,
	KEY_LABORATORY,
};

struct asked {
	struct writing writing;
	const char *set, *series;
	const char *output;     /* of a chart; NULL: text */
	struct set_terms given; /* what options said; the rest is as it was */
	bool changes, gives_rule, gives_place, json;
};

static const struct argp_option options[] = {
	{"series", KEY_SERIES, "SERIES", 0,
		"all sets of this series, in order of sampling: control chart, acceptance, "
		"statistics",
		2},
	{"in-series", KEY_IN_SERIES, "SERIES", 0, "the set is a test of this series", 3},
	{"rule", KEY_RULE, "RULE", 0,
		"the specification's: none, aci-318, en-206-initial or en-206-continuous", 3},
	{"specified-mpa", KEY_SPECIFIED_MPA, "F", 0, "the specified strength, f'c or fck", 3},
	{"specified-psi", KEY_SPECIFIED_PSI, "F", 0, "the same in psi", 3},
	{"sigma-mpa", KEY_SIGMA_MPA, "S", 0, "the standard deviation in force (en-206-continuous)",
		3},
	{"sigma-psi", KEY_SIGMA_PSI, "S", 0, "the same in psi", 3},
	{"field", KEY_FIELD, NULL, 0, "made under field conditions", 3},
	{"laboratory", KEY_LABORATORY, NULL, 0, "made in the laboratory (unless stated)", 3},
	{0},
};

static double take_stress(struct argp_state *state, const char *typed, double factor)
{
	struct decimal decimal;
	if (!decimal_parse(typed, strlen(typed), &decimal) || decimal.mantissa <= 0)
		argp_error(state, "a strength must be a number above zero, not '%s'", typed);
	return decimal_double(decimal) * factor;
}

static bool parse_terms(int key, char *typed, struct argp_state *state)
{
	struct asked *asked = state->input;
	struct set_terms *given = &asked->given;
	switch (key) {
	case KEY_IN_SERIES:
		options_name(state, "a series", typed, given->series, sizeof given->series);
		return true;
	case KEY_RULE:
		asked->gives_rule = true;
		if (!acceptance_rule_parse(typed, &given->rule))
			argp_error(state,
				"there is no rule '%s': none, aci-318, en-206-initial or "
				"en-206-continuous",
				typed);
		return true;
	case KEY_SPECIFIED_MPA:
		given->specified_pa = take_stress(state, typed, UNITS_PASCAL_PER_MPA);
		return true;
	case KEY_SPECIFIED_PSI:
		given->specified_pa = take_stress(state, typed, UNITS_PASCAL_PER_PSI);
		return true;
	case KEY_SIGMA_MPA:
		given->sigma_pa = take_stress(state, typed, UNITS_PASCAL_PER_MPA);
		return true;
	case KEY_SIGMA_PSI:
		given->sigma_pa = take_stress(state, typed, UNITS_PASCAL_PER_PSI);
		return true;
	case KEY_FIELD:
	case KEY_LABORATORY:
		asked->gives_place = true;
		given->field = key == KEY_FIELD;
		return true;
	default:
		return false;
	}
}

static error_t parse(int key, char *typed, struct argp_state *state)
{
	struct asked *asked = state->input;
	switch (key) {
	case ARGP_KEY_INIT:
		state->child_inputs[0] = &asked->writing;
		state->child_inputs[1] = &asked->json;
		state->child_inputs[2] = &asked->output;
		return 0;
	case KEY_SERIES:
		asked->series = typed;
		return 0;
	case ARGP_KEY_ARG:
		if (asked->set)
			argp_error(state, "one set at a time; '%s' is one too many", typed);
		options_name(state, "a set name", typed, asked->given.set, sizeof asked->given.set);
		asked->set = typed;
		return 0;
	case ARGP_KEY_END:
		if (!asked->set == !asked->series)
			argp_error(state, "which SET, or which --series?");
		if (asked->series && asked->changes)
			argp_error(state, "terms are entered set by set");
		if (asked->output && !asked->series)
			argp_error(state, "a chart is drawn of a --series");
		return 0;
	default:
		if (!parse_terms(key, typed, state))
			return ARGP_ERR_UNKNOWN;
		asked->changes = true;
		return 0;
	}
}

/* What was not given stays as it was. */
static int write_terms(struct asked *asked, struct store *store)
{
	const struct set_terms *given = &asked->given;
	struct set_terms terms;
	enum store_status status = store_terms_find(store, given->set, &terms);
	if (status != STORE_OK && status != STORE_NONE)
		return stored_failed(asked->writing.command, store, status);
	if (given->series[0])
		memcpy(terms.series, given->series, sizeof terms.series);
	if (given->specified_pa > 0)
		terms.specified_pa = given->specified_pa;
	if (given->sigma_pa > 0)
		terms.sigma_pa = given->sigma_pa;
	terms.rule = asked->gives_rule ? given->rule : terms.rule;
	terms.field = asked->gives_place ? given->field : terms.field;
	struct message why;
	if (!set_terms_check(&terms, &why)) {
		fprintf(stderr, "%s: %s\n", asked->writing.command, why.text);
		return EXIT_CANNOT;
	}
	asked->writing.request.terms = terms;
	int code = writing_do(&asked->writing);
	if (code == EXIT_DONE && !asked->json)
		printf("set %s: the terms are entered\n", terms.set);
	return code;
}

static int show_set(const struct asked *asked, struct store *store)
{
	struct set_test *test = calloc(1, sizeof *test);
	int code = EXIT_DONE;
	if (!test)
		return EXIT_CANNOT;
	enum store_status status = set_test_load(store, asked->set, test);
	if (status == STORE_NONE) {
		/* Terms may come before the breaks. */
		code = asked->changes ? EXIT_DONE : EXIT_NO;
		if (!asked->changes)
			fprintf(stderr, "%s: there is no run of a set '%s'\n",
				asked->writing.command, asked->set);
	} else if (status != STORE_OK) {
		code = stored_failed(asked->writing.command, store, status);
	} else if (asked->json) {
		code = stored_put_json(asked->writing.command, set_show_json(test));
	} else {
		set_show(test);
		code = test->companions.beyond || test->companions.apart || !test->complete
			       ? EXIT_NO
			       : EXIT_DONE;
	}
	free(test);
	return code;
}

/* ---- a series */

static int put_series(const struct asked *asked, const struct set_series *series)
{
	const char *command = asked->writing.command;
	if (series->count == 0) {
		fprintf(stderr, "%s: series %s has no set with a result yet\n", command,
			series->name);
		return EXIT_NO;
	}
	const struct set_test *unlike = set_series_unlike(series);
	if (unlike) {
		fprintf(stderr,
			"%s: sets %s and %s of series %s have other terms or methods: enter the "
			"same\n",
			command, series->tests[0]->terms.set, unlike->terms.set, series->name);
		return EXIT_CANNOT;
	}
	if (asked->json)
		return stored_put_json(command, set_series_json(series));
	if (asked->output)
		return set_chart(command, asked->output, series);
	if (!set_show_series(series)) {
		fprintf(stderr, "%s: memory is short\n", command);
		return EXIT_CANNOT;
	}
	return set_show_met(series) ? EXIT_DONE : EXIT_NO;
}

static int show_series(const struct asked *asked, struct store *store)
{
	static struct set_series series;
	int code = set_series_load(asked->writing.command, store, asked->series, &series);
	if (code == EXIT_DONE)
		code = put_series(asked, &series);
	set_series_finish(&series);
	return code;
}

int set_main(int argc, char **argv)
{
	const struct argp_child children[] = {{&writing_argp, 0, NULL, 0},
		{&options_json, 0, NULL, 0}, {&output_argp, 0, NULL, 0}, {0}};
	const struct argp argp = {options, parse, "SET",
		"Shows what a set of companions makes: mean, range against the precision of the "
		"method, acceptance. With terms they are entered first; what is not given stays as "
		"it was. With --series, all tests of one concrete.",
		children, NULL, NULL};
	struct asked asked = {
		.writing = {.command = argv[0], .request = {.ask = REQUEST_SET_TERMS}}};
	struct store *store;
	argp_parse(&argp, argc, argv, 0, NULL, &asked);
	int code = stored_open(asked.writing.command, asked.writing.database, &store);
	if (code == EXIT_DONE && asked.changes)
		code = write_terms(&asked, store);
	else if (code != EXIT_DONE)
		return code;
	if (code == EXIT_DONE)
		code = asked.series ? show_series(&asked, store) : show_set(&asked, store);
	store_close(store);
	return code;
}
