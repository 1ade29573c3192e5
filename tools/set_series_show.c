/* SPDX-License-Identifier: MIT
 *
 * The tests of one concrete in a row, for a person and as JSON. Limits are compared with unrounded
 * values.
 */
#include "set_show.h"

#include "draw/shown.h"
#include "table.h"
#include "words.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The chart takes what is left of the terminal's columns. */
enum { CHART_LEAST = 13, CHART_MOST = 41, CHART_BESIDE = 64, NAME_USUAL = 8, CELL_SIZE = 48 };

/* Under a head that names the unit. */
static void put_number(char *buffer, size_t size, bool inch_pound, double stress_pa)
{
	struct text text;
	text_init(&text, buffer, size);
	if (stress_pa > 0)
		shown_number(SHOWN_STRESS, inch_pound, stress_pa, &text);
	else
		text_put(&text, "-");
}

struct control_point *set_show_points(const struct set_series *series, struct control *control)
{
	struct control_test *values = calloc(series->count, sizeof *values);
	struct control_point *points = calloc(series->count, sizeof *points);
	const struct set_terms *terms = &series->tests[0]->terms;
	for (size_t i = 0; values && points && i < series->count; i++) {
		const struct companions *set = &series->tests[i]->companions;
		values[i] = (struct control_test){
			set->strength.mean, set->range_pa, series->tests[i]->count};
	}
	if (values && points) {
		control_chart(values, series->count, terms->specified_pa, points);
		*control = control_of(values, series->count, terms->specified_pa, terms->field);
	} else {
		free(points);
		points = NULL;
	}
	free(values);
	return points;
}

const char *set_show_verdict(const struct set_series *series, size_t at)
{
	const struct acceptance_at judged = set_series_judge(series, at);
	if (series->tests[0]->terms.rule == ACCEPTANCE_NONE)
		return "-";
	if (!judged.single_passed)
		return judged.mean_passed ? "SINGLE LOW" : "SINGLE AND MEAN LOW";
	return judged.mean_passed ? "met" : "MEAN LOW";
}

struct line {
	double low, high; /* all that is shown lies between */
	size_t width;
};

/* Where a value stands on a line of the chart. */
static size_t place(const struct line *line, double value)
{
	double extent = line->high - line->low;
	double part = extent > 0 ? (value - line->low) / extent : 0.5;
	return (size_t)lround(part * (double)(line->width - 1));
}

/* '|' the specified strength, 'o' the test, 'x' the mean of three. */
static void chart_line(
	const struct line *line, const struct control_point *point, double specified_pa, char *text)
{
	memset(text, '.', line->width);
	text[line->width] = '\0';
	if (specified_pa > 0)
		text[place(line, specified_pa)] = '|';
	if (point->has_three)
		text[place(line, point->three_pa)] = 'x';
	text[place(line, point->mean_pa)] = 'o';
}

static struct line line_of(const struct set_series *series, const struct control_point *points)
{
	double specified_pa = series->tests[0]->terms.specified_pa;
	struct line line = {points[0].mean_pa, points[0].mean_pa, CHART_MOST};
	size_t columns = table_columns(), beside = CHART_BESIDE - NAME_USUAL, longest = NAME_USUAL;
	for (size_t i = 0; i < series->count; i++) {
		size_t length = strlen(series->tests[i]->terms.set);
		line.low = fmin(line.low, points[i].mean_pa);
		line.high = fmax(line.high, points[i].mean_pa);
		longest = length > longest ? length : longest;
	}
	if (specified_pa > 0) {
		line.low = fmin(line.low, specified_pa);
		line.high = fmax(line.high, specified_pa);
	}
	if (columns < beside + longest + CHART_MOST)
		line.width = columns > beside + longest + CHART_LEAST ? columns - beside - longest
								      : CHART_LEAST;
	return line;
}

static bool put_point(struct table *table, const struct set_series *series,
	const struct control_point *points, size_t i, const char *line)
{
	const struct set_test *test = series->tests[i];
	const struct control_point *point = &points[i];
	bool inch_pound = set_show_inch_pound(test), good = true;
	char sampled[CLOCKS_UTC_TEXT_SIZE], count[24], mean[CELL_SIZE], three[CELL_SIZE];
	char range[CELL_SIZE];
	words_minute(test->sampled, sampled);
	sampled[strcspn(sampled, "T")] = '\0';
	snprintf(count, sizeof count, "%zu", test->count);
	put_number(mean, sizeof mean, inch_pound, point->mean_pa);
	put_number(three, sizeof three, inch_pound, point->has_three ? point->three_pa : 0);
	snprintf(range, sizeof range, "%.1f%s", test->companions.range_percent,
		test->companions.beyond ? " !" : "");
	const char *const cells[] = {test->terms.set, sampled, count, mean, three, range, line,
		set_show_verdict(series, i)};
	for (size_t j = 0; j < sizeof cells / sizeof cells[0]; j++)
		good = table_add(table, cells[j]) && good;
	return good;
}

static bool put_chart(const struct set_series *series, const struct control_point *points)
{
	const struct set_terms *terms = &series->tests[0]->terms;
	const char *unit = shown_unit(SHOWN_STRESS, set_show_inch_pound(series->tests[0]))->text;
	const struct line line = line_of(series, points);
	char mean[CELL_SIZE], text[CHART_MOST + 1];
	snprintf(mean, sizeof mean, "mean, %s", unit);
	const char *const heads[] = {
		"set", "sampled", "n", mean, "of 3", "range, %", "chart", "acceptance"};
	struct table table;
	bool good = true;
	table_init(&table, "wlrrrrlw");
	for (size_t i = 0; i < sizeof heads / sizeof heads[0]; i++)
		good = table_add(&table, heads[i]) && good;
	for (size_t i = 0; i < series->count; i++) {
		chart_line(&line, &points[i], terms->specified_pa, text);
		good = put_point(&table, series, points, i, text) && good;
	}
	table_print(&table, stdout);
	table_finish(&table);
	return good;
}

static void put_statistics(const struct set_series *series, const struct control *control)
{
	const struct acceptance_input input = set_test_input(series->tests[0]);
	bool inch_pound = input.inch_pound;
	char mean[CELL_SIZE], deviation[CELL_SIZE], within[CELL_SIZE], required[CELL_SIZE];
	double required_pa;
	set_show_stress(mean, sizeof mean, inch_pound, control->overall.mean);
	set_show_stress(deviation, sizeof deviation, inch_pound, control->overall.deviation);
	set_show_stress(within, sizeof within, inch_pound, control->within_pa);
	if (series->count < 2) {
		puts("overall   one test has no deviation");
		return;
	}
	printf("overall   %zu tests, mean %s, deviation %s (%.1f %%): %s\n", series->count, mean,
		deviation, control->overall_percent, control_grade_text(control->overall_grade));
	if (control->within_pa > 0)
		printf("within    %zu tests of %zu, deviation %s (%.1f %%): %s\n",
			control->within_count, control->within_size, within,
			control->within_percent, control_grade_text(control->within_grade));
	if (control->few)
		puts("          fewer than ten tests: grades say little yet (ACI 214R)");
	if (input.rule != ACCEPTANCE_ACI_318)
		return;
	if (acceptance_required_average(input.specified_pa, control->overall.deviation,
		    series->count, inch_pound, &required_pa)) {
		set_show_stress(required, sizeof required, inch_pound, required_pa);
		printf("required  average %s (ACI 301)\n", required);
	} else {
		puts("required  average: fifteen tests give the deviation that it needs");
	}
}

static void put_marked(const struct set_series *series)
{
	for (size_t i = 0; i < series->count; i++) {
		const struct set_test *test = series->tests[i];
		size_t marked = set_show_marked(test);
		if (marked > 0)
			printf("* of %s %zu of %zu runs are not reportable: ramplog set %s\n",
				test->terms.set, marked, test->count, test->terms.set);
	}
}

bool set_show_series(const struct set_series *series)
{
	const struct set_terms *terms = &series->tests[0]->terms;
	struct control control;
	struct control_point *points = set_show_points(series, &control);
	char specified[CELL_SIZE];
	if (!points)
		return false;
	set_show_stress(specified, sizeof specified, set_show_inch_pound(series->tests[0]),
		terms->specified_pa);
	printf("series %s: %zu test%s in order of sampling, %s, specified %s\n", series->name,
		series->count, series->count == 1 ? "" : "s", acceptance_rule_text(terms->rule),
		specified);
	bool good = put_chart(series, points);
	puts("          o the test, x the mean of three, | the specified strength;\n"
	     "          ! a range beyond its limit");
	put_marked(series);
	put_statistics(series, &control);
	free(points);
	return good;
}

bool set_show_met(const struct set_series *series)
{
	bool met = true;
	for (size_t i = 0; i < series->count && met; i++) {
		const struct acceptance_at at = set_series_judge(series, i);
		met = at.single_passed && at.mean_passed;
	}
	return met;
}

/* ---- as JSON */

static json_t *mpa_or_null(bool known, double stress_pa)
{
	return known ? json_real(stress_pa * set_show_mpa) : json_null();
}

static json_t *point_json(
	const struct set_series *series, const struct control_point *points, size_t i)
{
	const struct acceptance_at at = set_series_judge(series, i);
	const struct control_point *point = &points[i];
	const struct set_test *test = series->tests[i];
	bool judged = test->terms.rule != ACCEPTANCE_NONE;
	char sampled[CLOCKS_UTC_TEXT_SIZE];
	clocks_utc_text(test->sampled, sampled);
	return json_pack("{s:s, s:s, s:i, s:b, s:f, s:f, s:b, s:o, s:o, s:f, s:f, s:o, s:o, s:o, "
			 "s:o}",
		"set", test->terms.set, "sampled", sampled, "count", (int)test->count, "complete",
		test->complete, "mean_mpa", point->mean_pa * set_show_mpa, "range_percent",
		test->companions.range_percent, "beyond", test->companions.beyond, "mean_of_3_mpa",
		mpa_or_null(point->has_three, point->three_pa), "single_least_mpa",
		mpa_or_null(judged, at.single_least_pa), "mean_range_mpa",
		point->range_pa * set_show_mpa, "sum_of_departures_mpa",
		point->departure_pa * set_show_mpa, "mean_mpa_judged",
		mpa_or_null(judged && at.has_mean, at.mean_pa), "mean_least_mpa",
		mpa_or_null(judged && at.has_mean, at.mean_least_pa), "single_met",
		judged ? json_boolean(at.single_passed) : json_null(), "mean_met",
		judged && at.has_mean ? json_boolean(at.mean_passed) : json_null());
}

json_t *set_series_json(const struct set_series *series)
{
	const struct set_terms *terms = &series->tests[0]->terms;
	struct control control;
	struct control_point *points = set_show_points(series, &control);
	if (!points)
		return NULL;
	json_t *list = json_array();
	for (size_t i = 0; i < series->count; i++) {
		json_t *point = point_json(series, points, i);
		json_object_set_new(point, "not_reportable",
			json_integer((json_int_t)set_show_marked(series->tests[i])));
		json_array_append_new(list, point);
	}
	json_t *object = json_pack("{s:s, s:s, s:o, s:s, s:i, s:f, s:f, s:f, s:s, s:i, s:f, s:f, "
				   "s:s, s:b, s:b, s:o}",
		"series", series->name, "rule", acceptance_rule_text(terms->rule), "specified_mpa",
		mpa_or_null(terms->specified_pa > 0, terms->specified_pa), "method",
		series->tests[0]->method->name, "tests", (int)series->count, "mean_mpa",
		control.overall.mean * set_show_mpa, "deviation_mpa",
		control.overall.deviation * set_show_mpa, "overall_percent",
		control.overall_percent, "overall_grade", control_grade_text(control.overall_grade),
		"within_tests", (int)control.within_count, "within_mpa",
		control.within_pa * set_show_mpa, "within_percent", control.within_percent,
		"within_grade", control_grade_text(control.within_grade), "few", control.few, "met",
		set_show_met(series), "points", list);
	free(points);
	return object;
}
