/* SPDX-License-Identifier: MIT
 *
 * Sets of companions, their terms, and the series that they make.
 */
#include "../check.h"
#include "../store/fixture.h"
#include "calls.h"
#include "commands.h"
#include "desk.h"
#include "paper.h"

#include <jansson.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Three companions: one far off is flagged, and counted. */
static void a_set_of_companions(void **state)
{
	const char *path = *state;
	struct store *store = fixture_open(path, STORE_WRITE);
	fixture_run(store, "north", "A-1", 1, 0.25, NULL);
	fixture_run(store, "north", "A-2", 1, 0.25, NULL);
	fixture_run(store, "north", "B-1", 1, 0.25, NULL);
	store_close(store);
	assert_int_equal(calls_run(path, "set nobody"), EXIT_NO);
	assert_int_equal(calls_run(path, "set set-A"), EXIT_NO);
	calls_say(calls_out, "NOT COMPLETE");
	calls_done(path, "fracture 1 2");
	calls_done(path, "fracture 2 3");
	calls_done(path, "set set-A");
	calls_say(calls_out, "set set-A: 2 of 2 runs count, ASTM C39/C39M (SI)");
	calls_say(calls_out, "0.0 % of the mean;\n          9.0 % is seldom exceeded by 2 of 100 "
			     "mm made in the laboratory");
	calls_say(calls_out, "terms     none entered");
	/* the press is not verified: what they make is no result to report */
	calls_say(calls_out, "\n *1  A-1");
	calls_say(calls_out, "\n* run 2 is not reportable: press not verified: no verification is "
			     "recorded");
	/* measured again: 95 mm instead of 100 makes it 11 % stronger */
	calls_done(path, "register A-2 --set set-A --diameter-mm 95 --length-mm "
			 "200.5 --anticipated-mpa 3 --correct mistyped "
			 "--cast 2026-01-28T06:13:20Z");
	assert_int_equal(calls_run(path, "set set-A"), EXIT_NO);
	calls_say(calls_out, "!! BEYOND it");
	calls_say(calls_out, "[ ] the diameters as typed");
	calls_say(calls_out, "2 of 2 runs count");
	calls_done(path, "correct 2 --void --reason dirt");
	calls_done(path, "set set-A");
	calls_say(calls_out, "voided");
	calls_say(calls_out, "1 of 2 runs count");
	calls_done(path, "set set-A --json");
	calls_say(calls_out, "\"without\": \"voided\"");
	calls_say(calls_out, "\"reportable\": false");
	calls_say(calls_out, "\"not_reportable\": \"press not verified");
}

static void the_terms_of_a_set(void **state)
{
	const char *path = *state;
	static const char *const mistakes[][2] = {
		{"set", "which SET"},
		{"set set-A --rule strict", "there is no rule 'strict'"},
		{"set set-A --rule aci-318", "state it"},
		{"set set-A --specified-mpa 0", "must be a number above zero"},
		{"set --series pier --field", "terms are entered set by set"},
	};
	desk_run(path);
	for (size_t i = 0; i < sizeof(mistakes) / sizeof(mistakes[0]); i++)
		calls_refused(path, mistakes[i][0], mistakes[i][1]);
	calls_done(path, "fracture 1 2");
	calls_done(path, "set set-A --rule en-206-initial --specified-mpa 8 "
			 "--in-series pier");
	calls_say(calls_out, "single    !! NOT MET: at least 4.00 MPa");
	/* what is not given stays */
	calls_done(path, "set set-A --field --specified-mpa 2");
	calls_say(calls_out, "terms     en-206-initial, specified 2.00 MPa, made in the field, "
			     "series pier");
	calls_done(path, "audit");
}

/* EN 206, initial: the mean of three at least 4 MPa above, each at most 4 MPa below. */
static void check_series_json(const char *path)
{
	calls_done(path, "set --series pier --json");
	json_t *object = json_loads(calls_out, 0, NULL);
	assert_non_null(object);
	assert_string_equal(json_string_value(json_object_get(object, "rule")), "en-206-initial");
	assert_int_equal(json_integer_value(json_object_get(object, "tests")), 4);
	assert_true(json_is_false(json_object_get(object, "met")));
	assert_true(json_is_true(json_object_get(object, "few")));
	const json_t *points = json_object_get(object, "points");
	assert_int_equal(json_array_size(points), 4);
	assert_int_equal(
		json_integer_value(json_object_get(json_array_get(points, 0), "not_reportable")),
		1);
	const json_t *second = json_array_get(points, 1), *third = json_array_get(points, 2);
	assert_string_equal(json_string_value(json_object_get(third, "set")), "set-D");
	assert_true(json_is_null(json_object_get(second, "mean_met")));
	assert_true(json_is_null(json_object_get(second, "mean_least_mpa")));
	assert_true(json_is_false(json_object_get(third, "mean_met")));
	assert_true(json_is_true(json_object_get(third, "single_met")));
	check_near(json_real_value(json_object_get(third, "mean_least_mpa")), 6.95, 1e-9);
	check_near(json_real_value(json_object_get(third, "single_least_mpa")), -1.05, 1e-9);
	double sum = 0;
	for (size_t i = 0; i < 3; i++)
		sum += json_real_value(json_object_get(json_array_get(points, i), "mean_mpa"));
	check_near(json_real_value(json_object_get(third, "mean_of_3_mpa")), sum / 3, 1e-9);
	json_decref(object);
}

static void check_series_chart(const char *path)
{
	paper_done(path, "chart.svg", "set --series pier");
	char *svg = paper_read(path, "chart.svg", NULL);
	calls_say(svg, "Series pier");
	calls_say(svg, ">set-B</text>");
	calls_say(svg, ">2026-01-04</text>");
	calls_say(svg, "set-D: MEAN LOW");
	assert_null(strstr(svg, "set-C: "));
	free(svg);
	assert_int_equal(paper_make(path, "chart.txt", "set --series pier"), EXIT_CANNOT);
	assert_int_equal(paper_make(path, "chart.svg", "set set-A"), EXIT_CANNOT);
	calls_say(calls_err, "a chart is drawn of a --series");
}

/* Four tests of one concrete by order of casting, not of entering; the third mean is low. */
static void a_series_of_tests(void **state)
{
	const char *path = *state;
	static const char *const casts[] = {"04", "01", "02", "03"};
	static const char *const diameters[] = {"105", "100", "100", "101"};
	struct store *store = fixture_open(path, STORE_WRITE);
	for (int i = 0; i < 4; i++) {
		char id[8];
		snprintf(id, sizeof(id), "%c-1", 'A' + i);
		fixture_run(store, "north", id, 1, 0.25, NULL);
	}
	store_close(store);
	assert_int_equal(calls_run(path, "set --series pier"), EXIT_NO);
	calls_say(calls_err, "has no set with a result yet");
	for (int i = 0; i < 4; i++) {
		char line[300];
		snprintf(line, sizeof(line),
			"register %c-1 --set set-%c --diameter-mm %s --length-mm 200 "
			"--anticipated-mpa 3 --cast 2026-01-%sT06:00Z --correct cast",
			'A' + i, 'A' + i, diameters[i], casts[i]);
		calls_done(path, line);
		snprintf(line, sizeof(line),
			"set set-%c --rule en-206-initial --specified-mpa 2.95 --in-series pier",
			'A' + i);
		calls_run(path, line);
	}
	assert_int_equal(calls_run(path, "set --series pier"), EXIT_NO);
	calls_say(calls_out, "series pier: 4 tests in order of sampling, en-206-initial");
	calls_say(calls_out, "MEAN LOW");
	assert_true(strstr(calls_out, "\nset-B") < strstr(calls_out, "\nset-C"));
	assert_true(strstr(calls_out, "\nset-D") < strstr(calls_out, "\nset-A"));
	calls_say(calls_out, "overall   4 tests");
	calls_say(calls_out, "fewer than ten tests");
	calls_say(calls_out, "\n* of set-D 1 of 1 runs are not reportable: ramplog set set-D");
	desk_narrow(calls_out);
	check_series_json(path);
	check_series_chart(path);
	/* other terms do not compare */
	calls_run(path, "set set-A --specified-mpa 4");
	calls_refused(path, "set --series pier", "have other terms or methods");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		FIXTURE_TEST(a_set_of_companions),
		FIXTURE_TEST(the_terms_of_a_set),
		FIXTURE_TEST(a_series_of_tests),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
