/* SPDX-License-Identifier: MIT
 *
 * A range beyond its limit is a flag with a list of what to look into; nothing is ever left out for
 * it. Limits are compared with unrounded values.
 */
#include "set_show.h"

#include "draw/shown.h"
#include "result/control.h"
#include "table.h"
#include "words.h"

#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { CHART_WIDTH = 41, CELL_SIZE = 48 };

static const double part_of_pa = 1e-6; /* a strength in MPa has this many Pa */

/* ---- one set */

static struct text put_stress(char *buffer, size_t size, bool inch_pound, double stress_pa)
{
	struct text text;
	text_init(&text, buffer, size);
	if (stress_pa > 0)
		shown_put(SHOWN_STRESS, inch_pound, stress_pa, &text);
	else
		text_put(&text, "-");
	return text;
}

static bool is_inch_pound(const struct set_test *test)
{
	return test->method && test->method->inch_pound;
}

static void put_runs(const struct set_test *test)
{
	static const char *const heads[] = {
		"run", "specimen", "strength", "type", "rate", "counts"};
	struct table table;
	table_init(&table, "rlrrll");
	for (size_t i = 0; i < sizeof heads / sizeof heads[0]; i++)
		table_add(&table, heads[i]);
	for (size_t i = 0; i < test->run_count; i++) {
		const struct set_run *run = &test->runs[i];
		char number[24], strength[CELL_SIZE], type[12];
		snprintf(number, sizeof number, "%" PRId64, run->run);
		put_stress(strength, sizeof strength, is_inch_pound(test), run->strength_pa);
		snprintf(type, sizeof type, run->fracture.type ? "%d" : "-", run->fracture.type);
		const char *const cells[] = {number, run->specimen.id, strength, type,
			words_verdict(run->row.verdict), run->without ? run->without : "yes"};
		for (size_t j = 0; j < sizeof cells / sizeof cells[0]; j++)
			table_add(&table, cells[j]);
	}
	table_print(&table, stdout);
	table_finish(&table);
}

static void put_range(const struct set_test *test)
{
	const struct companions *set = &test->companions;
	char range[CELL_SIZE];
	put_stress(range, sizeof range, is_inch_pound(test), set->range_pa);
	if (test->count < 2)
		return;
	printf("range     %s, %.1f %% of the mean", range, set->range_percent);
	if (set->limit_percent > 0)
		printf("; %.1f %% is seldom exceeded by %zu of %.0f mm made in %s\n",
			set->limit_percent, test->count, (double)test->width_um / 1e3,
			test->terms.field ? "the field" : "the laboratory");
	else
		printf("; %s has no limit for %zu of %.0f mm made in %s\n", test->method->standard,
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
	put_stress(specified, sizeof specified, is_inch_pound(test), terms->specified_pa);
	printf("terms     %s, specified %s, made in %s%s%s\n", acceptance_rule_text(terms->rule),
		specified, terms->field ? "the field" : "the laboratory",
		terms->series[0] ? ", series " : "", terms->series);
}

static struct acceptance_input input_of(const struct set_test *test)
{
	return (struct acceptance_input){test->terms.rule, test->terms.specified_pa,
		is_inch_pound(test), test->terms.sigma_pa};
}

/* What one set can be judged by alone; its part in running means is the series'. */
static void put_single(const struct set_test *test)
{
	const struct acceptance_input input = input_of(test);
	const char *few = set_test_too_few(test);
	char least[CELL_SIZE];
	if (test->terms.rule == ACCEPTANCE_NONE || test->count == 0)
		return;
	if (few)
		printf("  !! no strength test: %s\n", few);
	const struct acceptance_at at =
		acceptance_judge(&input, &test->companions.strength.mean, 0);
	put_stress(least, sizeof least, input.inch_pound, at.single_least_pa);
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
		set->strength.mean * part_of_pa, "range_percent", set->range_percent,
		"limit_percent", set->limit_percent, "beyond", set->beyond, "apart", set->apart);
	json_t *list = json_array();
	for (size_t i = 0; i < test->run_count; i++) {
		const struct set_run *run = &test->runs[i];
		json_array_append_new(
			list, json_pack("{s:I, s:s, s:f, s:i, s:s?}", "run", (json_int_t)run->run,
				      "specimen", run->specimen.id, "strength_mpa",
				      run->strength_pa * part_of_pa, "fracture", run->fracture.type,
				      "without", run->without));
	}
	json_object_set_new(object, "runs", list);
	return object;
}

/* ---- a series */

struct series {
	const struct set_test *const *tests;
	size_t count;
	struct acceptance_input input;
	double *means;                /* owned */
	struct control_test *values;  /* owned */
	struct control_point *points; /* owned */
};

static bool series_init(struct series *series, const struct set_test *const *tests, size_t count)
{
	*series = (struct series){.tests = tests, .count = count, .input = input_of(tests[0])};
	series->means = calloc(count, sizeof *series->means);
	series->values = calloc(count, sizeof *series->values);
	series->points = calloc(count, sizeof *series->points);
	if (!series->means || !series->values || !series->points)
		return false;
	for (size_t i = 0; i < count; i++) {
		const struct companions *set = &tests[i]->companions;
		series->means[i] = set->strength.mean;
		series->values[i] =
			(struct control_test){set->strength.mean, set->range_pa, tests[i]->count};
	}
	control_chart(series->values, count, series->input.specified_pa, series->points);
	return true;
}

static void series_finish(struct series *series)
{
	free(series->means);
	free(series->values);
	free(series->points);
}

/* Where a value stands on a line of the chart. */
static int place(double value, double low, double high)
{
	double part = high > low ? (value - low) / (high - low) : 0.5;
	int at = (int)lround(part * (CHART_WIDTH - 1));
	return at < 0 ? 0 : at >= CHART_WIDTH ? CHART_WIDTH - 1 : at;
}

/* '|' the specified strength, 'o' the test, 'x' the mean of three. */
static void chart_line(const struct series *series, size_t i, double low, double high, char *line)
{
	const struct control_point *point = &series->points[i];
	memset(line, '.', CHART_WIDTH);
	line[CHART_WIDTH] = '\0';
	if (series->input.specified_pa > 0)
		line[place(series->input.specified_pa, low, high)] = '|';
	if (point->has_three)
		line[place(point->three_pa, low, high)] = 'x';
	line[place(point->mean_pa, low, high)] = 'o';
}

static const char *verdict_at(const struct series *series, size_t i)
{
	const struct acceptance_at at = acceptance_judge(&series->input, series->means, i);
	if (series->input.rule == ACCEPTANCE_NONE)
		return "-";
	if (!at.single_passed)
		return at.mean_passed ? "SINGLE LOW" : "SINGLE AND MEAN LOW";
	return at.mean_passed ? "met" : "MEAN LOW";
}

static bool put_chart(const struct series *series)
{
	static const char *const heads[] = {
		"set", "sampled", "n", "mean", "mean of 3", "range, %", "chart", "acceptance"};
	double low = series->means[0], high = low;
	bool good = true;
	for (size_t i = 0; i < series->count; i++) {
		low = fmin(low, series->means[i]);
		high = fmax(high, series->means[i]);
	}
	if (series->input.specified_pa > 0) {
		low = fmin(low, series->input.specified_pa);
		high = fmax(high, series->input.specified_pa);
	}
	struct table table;
	table_init(&table, "llrrrrll");
	for (size_t i = 0; i < sizeof heads / sizeof heads[0]; i++)
		good = table_add(&table, heads[i]) && good;
	for (size_t i = 0; i < series->count; i++) {
		const struct set_test *test = series->tests[i];
		const struct control_point *point = &series->points[i];
		char sampled[CLOCKS_UTC_TEXT_SIZE], count[24], mean[CELL_SIZE], three[CELL_SIZE];
		char range[CELL_SIZE], line[CHART_WIDTH + 1];
		words_minute(test->sampled, sampled);
		snprintf(count, sizeof count, "%zu", test->count);
		put_stress(mean, sizeof mean, series->input.inch_pound, point->mean_pa);
		put_stress(three, sizeof three, series->input.inch_pound,
			point->has_three ? point->three_pa : 0);
		snprintf(range, sizeof range, "%.1f%s", test->companions.range_percent,
			test->companions.beyond ? " !" : "");
		chart_line(series, i, low, high, line);
		const char *const cells[] = {test->terms.set, sampled, count, mean, three, range,
			line, verdict_at(series, i)};
		for (size_t j = 0; j < sizeof cells / sizeof cells[0]; j++)
			good = table_add(&table, cells[j]) && good;
	}
	table_print(&table, stdout);
	table_finish(&table);
	return good;
}

static void put_statistics(const struct series *series)
{
	const struct control control = control_of(series->values, series->count,
		series->input.specified_pa, series->tests[0]->terms.field);
	bool inch_pound = series->input.inch_pound;
	char mean[CELL_SIZE], deviation[CELL_SIZE], within[CELL_SIZE], required[CELL_SIZE];
	double required_pa;
	put_stress(mean, sizeof mean, inch_pound, control.overall.mean);
	put_stress(deviation, sizeof deviation, inch_pound, control.overall.deviation);
	put_stress(within, sizeof within, inch_pound, control.within_pa);
	if (series->count < 2) {
		puts("overall   one test has no deviation");
		return;
	}
	printf("overall   %zu tests, mean %s, standard deviation %s (%.1f %%): %s\n", series->count,
		mean, deviation, control.overall_percent,
		control_grade_text(control.overall_grade));
	if (control.within_pa > 0 && series->count > 1)
		printf("within    %zu tests of %zu, standard deviation %s (%.1f %%): %s\n",
			control.within_count, control.within_size, within, control.within_percent,
			control_grade_text(control.within_grade));
	if (control.few)
		puts("          fewer than ten tests: grades say little yet (ACI 214R)");
	if (series->input.rule != ACCEPTANCE_ACI_318)
		return;
	if (acceptance_required_average(series->input.specified_pa, control.overall.deviation,
		    series->count, inch_pound, &required_pa)) {
		put_stress(required, sizeof required, inch_pound, required_pa);
		printf("required  average %s (ACI 301)\n", required);
	} else {
		puts("required  average: fifteen tests give the deviation that it needs");
	}
}

bool set_show_series(const char *series_name, const struct set_test *const *tests, size_t count)
{
	struct series series;
	bool good = series_init(&series, tests, count);
	if (good) {
		char specified[CELL_SIZE];
		put_stress(specified, sizeof specified, series.input.inch_pound,
			series.input.specified_pa);
		printf("series %s: %zu test%s in order of sampling, %s, specified %s\n",
			series_name, count, count == 1 ? "" : "s",
			acceptance_rule_text(series.input.rule), specified);
		good = put_chart(&series);
		puts("          o the test, x the mean of three, | the specified strength; ! a "
		     "range "
		     "beyond its limit");
		put_statistics(&series);
	}
	series_finish(&series);
	return good;
}

bool set_show_met(const struct set_test *const *tests, size_t count)
{
	struct series series;
	bool met = series_init(&series, tests, count);
	for (size_t i = 0; i < count && met; i++) {
		const struct acceptance_at at = acceptance_judge(&series.input, series.means, i);
		met = at.single_passed && at.mean_passed;
	}
	series_finish(&series);
	return met;
}
