/* SPDX-License-Identifier: MIT
 *
 * A test by itself, and its part in the mean of several, which are those of its series sampled up
 * to it. The same figures as `ramplog set` gives.
 */
#include "report_acceptance.h"

#include "commands.h"
#include "report_parts.h"
#include "set_series.h"
#include "stored.h"

#include "draw/shown.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { STRESS_SIZE = 32 };

/* Of the series as it stands: the tests sampled before this one, and this one as reported. */
static int judge_in_series(const char *command, struct store *store, const struct set_test *test,
	struct report_acceptance *acceptance)
{
	static struct set_series series;
	int code = set_series_load(command, store, test->terms.series, &series);
	acceptance->unlike = code == EXIT_DONE && set_series_unlike(&series);
	for (size_t i = 0; i < series.count && code == EXIT_DONE && !acceptance->unlike; i++) {
		if (strcmp(series.tests[i]->terms.set, test->terms.set) != 0)
			continue;
		series.tests[i]->companions = test->companions;
		acceptance->at = set_series_judge(&series, i);
	}
	set_series_finish(&series);
	return code;
}

static int judge(const char *command, struct store *store, const struct report_content *content,
	struct set_test *test, struct report_acceptance *acceptance)
{
	if (!report_companions(content, &test->companions)) {
		fprintf(stderr, "%s: out of memory\n", command);
		return EXIT_CANNOT;
	}
	test->count = test->companions.strength.count;
	acceptance->has_terms = test->has_terms;
	acceptance->terms = test->terms;
	acceptance->few = set_test_too_few(test);
	acceptance->has_test = test->count > 0 && test->method;
	if (!acceptance->has_test || test->terms.rule == ACCEPTANCE_NONE)
		return EXIT_DONE;
	const struct acceptance_input input = set_test_input(test);
	acceptance->at = acceptance_judge(&input, &test->companions.strength.mean, 0);
	/* Its part in a mean of several is its series' to say. */
	acceptance->at.has_mean = false;
	return test->terms.series[0] ? judge_in_series(command, store, test, acceptance)
				     : EXIT_DONE;
}

int report_acceptance_find(const char *command, struct store *store, const char *set,
	const struct report_content *content, struct report_acceptance *acceptance)
{
	struct set_test *test = calloc(1, sizeof *test);
	enum store_status status = test ? set_test_load(store, set, test) : STORE_IO;
	*acceptance = (struct report_acceptance){.has_terms = false};
	int code = status == STORE_OK ? judge(command, store, content, test, acceptance)
				      : stored_failed(command, store, status);
	free(test);
	return code;
}

/* ---- in the report */

static void stress_text(const struct report_content *content, double stress_pa, char *buffer)
{
	struct text text;
	text_init(&text, buffer, STRESS_SIZE);
	shown_put(SHOWN_STRESS, report_inch_pound(content), stress_pa, &text);
}

void report_put_specification(struct sheet *sheet, const struct report_content *content)
{
	const struct report_acceptance *acceptance = content->acceptance;
	char specified[STRESS_SIZE], sigma[STRESS_SIZE];
	if (!acceptance)
		return;
	const struct set_terms *terms = &acceptance->terms;
	if (!acceptance->has_terms) {
		sheet_field(sheet, "specification", "not stated: no acceptance is judged");
		return;
	}
	stress_text(content, terms->specified_pa, specified);
	stress_text(content, terms->sigma_pa, sigma);
	sheet_field(sheet, "specification", "%s%s%s%s%s%s%s", acceptance_rule_title(terms->rule),
		terms->specified_pa > 0 ? ", specified strength " : "",
		terms->specified_pa > 0 ? specified : "",
		terms->sigma_pa > 0 ? ", standard deviation " : "",
		terms->sigma_pa > 0 ? sigma : "", terms->series[0] ? ", series " : "",
		terms->series);
}

static void put_criterion(struct sheet *sheet, const struct report_content *content, bool met,
	const char *what, double value_pa, double least_pa)
{
	const char *rule = acceptance_rule_title(content->acceptance->terms.rule);
	char value[STRESS_SIZE], least[STRESS_SIZE];
	stress_text(content, value_pa, value);
	stress_text(content, least_pa, least);
	if (met)
		sheet_text(sheet, "%s: %s, %s, is at least the %s asked for.", rule, what, value,
			least);
	else
		sheet_alert(sheet, "%s NOT MET: %s, %s, is below the %s asked for.", rule, what,
			value, least);
}

static void put_mean(struct sheet *sheet, const struct report_content *content)
{
	const struct report_acceptance *acceptance = content->acceptance;
	const struct acceptance_at *at = &acceptance->at;
	if (at->has_mean)
		put_criterion(sheet, content, at->mean_passed,
			"the mean of the last tests of the series up to this one", at->mean_pa,
			at->mean_least_pa);
	else if (!acceptance->terms.series[0])
		sheet_text(sheet, "The mean of several tests was not judged: the set was entered "
				  "for no series.");
	else if (acceptance->unlike)
		sheet_alert(sheet,
			"The mean of several tests was not judged: the sets of series %s have "
			"different terms or methods.",
			acceptance->terms.series);
	else
		sheet_text(sheet,
			"The mean of several tests is not judged yet: series %s has too "
			"few.",
			acceptance->terms.series);
}

void report_put_acceptance(struct sheet *sheet, const struct report_content *content)
{
	const struct report_acceptance *acceptance = content->acceptance;
	struct companions companions;
	if (!acceptance || acceptance->terms.rule == ACCEPTANCE_NONE)
		return;
	if (!acceptance->has_test || !report_companions(content, &companions)) {
		sheet_alert(sheet, "%s was not judged: the set has no mean.",
			acceptance_rule_title(acceptance->terms.rule));
		return;
	}
	if (acceptance->few)
		sheet_alert(sheet, "No strength test: %s.", acceptance->few);
	put_criterion(sheet, content, acceptance->at.single_passed, "this test",
		companions.strength.mean, acceptance->at.single_least_pa);
	put_mean(sheet, content);
}
