/* SPDX-License-Identifier: MIT
 *
 * A range beyond its limit is a flag with a list of what to look into; nothing is ever left out for
 * it. Limits are compared with unrounded values.
 */
#include "set_show.h"

#include "draw/shown.h"
#include "table.h"
#include "wire/verification_json.h"
#include "words.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

enum { CELL_SIZE = 48 };

/* ---- one set */

struct text set_show_stress(char *buffer, size_t size, bool inch_pound, double stress_pa)
{
	struct text text;
	text_init(&text, buffer, size);
	if (stress_pa > 0)
		shown_put(SHOWN_STRESS, inch_pound, stress_pa, &text);
	else
		text_put(&text, "-");
	return text;
}

bool set_show_inch_pound(const struct set_test *test)
{
	return test->method && test->method->inch_pound;
}

static void put_runs(const struct set_test *test)
{
	static const char *const heads[] = {
		"run", "specimen", "strength", "type", "rate", "counts"};
	struct table table;
	table_init(&table, "rwrrlw");
	for (size_t i = 0; i < sizeof heads / sizeof heads[0]; i++)
		table_add(&table, heads[i]);
	for (size_t i = 0; i < test->run_count; i++) {
		const struct set_run *run = &test->runs[i];
		char number[24], strength[CELL_SIZE], type[12];
		snprintf(number, sizeof number, "%s%" PRId64, words_is_marked(&run->row) ? "*" : "",
			run->run);
		set_show_stress(
			strength, sizeof strength, set_show_inch_pound(test), run->strength_pa);
		snprintf(type, sizeof type, run->fracture.type ? "%d" : "-", run->fracture.type);
		const char *const cells[] = {number, run->specimen.id, strength, type,
			words_verdict(run->row.verdict), run->without ? run->without : "yes"};
		for (size_t j = 0; j < sizeof cells / sizeof cells[0]; j++)
			table_add(&table, cells[j]);
	}
	table_print(&table, stdout);
	table_finish(&table);
	for (size_t i = 0; i < test->run_count; i++)
		words_put_marked(&test->runs[i].row);
}

size_t set_show_marked(const struct set_test *test)
{
	size_t count = 0;
	for (size_t i = 0; i < test->run_count; i++)
		count += !test->runs[i].without && words_is_marked(&test->runs[i].row);
	return count;
}

static void put_range(const struct set_test *test)
{
	const struct companions *set = &test->companions;
	char range[CELL_SIZE];
	set_show_stress(range, sizeof range, set_show_inch_pound(test), set->range_pa);
	if (test->count < 2)
		return;
	printf("range     %s, %.1f %% of the mean;\n          ", range, set->range_percent);
	if (set->limit_percent > 0)
		printf("%.1f %% is seldom exceeded by %zu of %.0f mm made in %s\n",
			set->limit_percent, test->count, (double)test->width_um / 1e3,
			test->terms.field ? "the field" : "the laboratory");
	else
		printf("%s has no limit for %zu of %.0f mm made in %s\n", test->method->standard,
			test->count, (double)test->width_um / 1e3,
			test->terms.field ? "the field" : "the laboratory");
	if (!set->beyond && !set->apart)
		return;
	puts(set->beyond
			? "  !! BEYOND it. About one set in twenty is, with nothing wrong. None is "
			  "left out;\n     look into:"
			: "  !! ONE IS FARTHER from the mean than the method lets it be. None is "
			  "left "
			  "out;\n     look into:");
	for (size_t i = 0; companions_checklist[i]; i++)
		printf("     [ ] %s\n", companions_checklist[i]);
}

static void put_terms(const struct set_test *test)
{
	const struct set_terms *terms = &test->terms;
	char specified[CELL_SIZE];
	if (!test->has_terms) {
		puts("terms     none entered: made in the laboratory, no acceptance "
		     "(see --rule, --specified-mpa, --field)");
		return;
	}
	set_show_stress(
		specified, sizeof specified, set_show_inch_pound(test), terms->specified_pa);
	printf("terms     %s, specified %s, made in %s%s%s\n", acceptance_rule_text(terms->rule),
		specified, terms->field ? "the field" : "the laboratory",
		terms->series[0] ? ", series " : "", terms->series);
}

/* What one set can be judged by alone; its part in running means is the series'. */
static void put_single(const struct set_test *test)
{
	const struct acceptance_input input = set_test_input(test);
	const char *few = set_test_too_few(test);
	char least[CELL_SIZE];
	if (test->terms.rule == ACCEPTANCE_NONE || test->count == 0)
		return;
	if (few)
		printf("  !! no strength test: %s\n", few);
	const struct acceptance_at at =
		acceptance_judge(&input, &test->companions.strength.mean, 0);
	set_show_stress(least, sizeof least, input.inch_pound, at.single_least_pa);
	printf("single    %s: at least %s\n", at.single_passed ? "met" : "!! NOT MET", least);
	if (test->terms.series[0])
		printf("          means of several: ramplog set --series %s\n", test->terms.series);
}

void set_show(const struct set_test *test)
{
	char mean[OUTCOME_REPORTED_SIZE] = "-";
	printf("set %s: %zu of %zu runs count%s%s\n", test->terms.set, test->count, test->run_count,
		test->method ? ", " : "", test->method ? test->method->standard : "");
	put_runs(test);
	if (test->count > 0 && !test->method) {
		puts("its runs are of several methods: they have no mean");
		return;
	}
	if (test->method)
		outcome_strength_text(test->method, test->companions.strength.mean, mean);
	printf("mean      %s, of unrounded strengths%s\n", mean,
		test->complete || test->count == 0 ? ""
						   : "; NOT COMPLETE: fracture types are missing");
	if (test->count > 0)
		put_range(test);
	put_terms(test);
	put_single(test);
}

json_t *set_show_json(const struct set_test *test)
{
	const struct companions *set = &test->companions;
	json_t *object = json_pack("{s:s, s:i, s:b, s:f, s:f, s:f, s:b, s:b}", "set",
		test->terms.set, "count", (int)test->count, "complete", test->complete, "mean_mpa",
		set->strength.mean * set_show_mpa, "range_percent", set->range_percent,
		"limit_percent", set->limit_percent, "beyond", set->beyond, "apart", set->apart);
	json_t *list = json_array();
	for (size_t i = 0; i < test->run_count; i++) {
		const struct set_run *run = &test->runs[i];
		json_t *item = json_pack("{s:I, s:s, s:f, s:i, s:s?}", "run", (json_int_t)run->run,
			"specimen", run->specimen.id, "strength_mpa",
			run->strength_pa * set_show_mpa, "fracture", run->fracture.type, "without",
			run->without);
		verification_json_standing(item, &run->row.standing, run->row.maximum_un);
		json_array_append_new(list, item);
	}
	json_object_set_new(object, "runs", list);
	return object;
}
