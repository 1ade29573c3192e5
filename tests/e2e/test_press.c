/* SPDX-License-Identifier: MIT
 *
 * The press itself, from end to end: its verification typed in and taken by hand, what it does to
 * runs, its zero, the point at which the load acts, its bearing blocks.
 */
#include "lab.h"

#include "unit/check.h"

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

enum { CELLS_MAX = 4 };

/* A curve that breaks after so many kilonewtons, in four seconds. */
static void write_curve(const char *path, double maximum_kn)
{
	lab_write(path, "time_s,load_kn\n");
	for (int i = 0; i <= 400; i++)
		lab_write(path, "%d.%02d,%.3f\n", i / 100, i % 100, maximum_kn * i / 400);
	lab_write(path, "4.02,%.3f\n4.03,0.0\n", maximum_kn / 2);
}

static const char *text_at(const json_t *object, const char *name)
{
	const char *text = json_string_value(json_object_get(object, name));
	if (text == NULL)
		fail_msg("no text %s", name);
	return text;
}

static void play(struct harness_process *press, struct harness_process *daemon, const char *run)
{
	char opened[32];
	snprintf(opened, sizeof opened, "run %s closed", run);
	harness_tell(press, "go");
	harness_expect(daemon, opened, "broken", NULL);
}

/* NULL: it is reportable. */
static void check_reportable(struct lab *lab, const char *run, const char *reason)
{
	json_t *shown = lab_json(lab, "show", run, NULL);
	bool reportable = json_is_true(json_object_get(shown, "reportable"));
	if (reason == NULL)
		assert_true(reportable);
	else if (reportable || strstr(text_at(shown, "not_reportable"), reason) == NULL)
		fail_msg("run %s: '%s' is not why it is not reportable", run, reason);
	json_decref(shown);
}

static void must_say(struct lab *lab, const char *text, const char *one, const char *two)
{
	struct harness_output output = lab_run(lab, one, two, NULL);
	if (output.text == NULL || strstr(output.text, text) == NULL)
		fail_msg("ramplog %s does not say '%s' but:\n%s", one, text,
			output.text != NULL ? output.text : "");
	harness_output_finish(&output);
}

/* What the check of the configuration says of the press while the daemon runs. */
static void check_due(struct lab *lab, const char *due)
{
	const char *const argv[] = {getenv("RAMPLOGD"), "--config", lab->config, "--check", NULL};
	struct harness_output output = harness_run(argv);

	assert_int_equal(output.status, 0);
	assert_non_null(strstr(output.text, due));
	assert_non_null(strstr(output.text, "care of ball and socket is due: none is recorded"));
	harness_output_finish(&output);
}

static void today(char *text, size_t size)
{
	time_t now = time(NULL) - 3600;
	strftime(text, size, "%Y-%m-%dT%H:%M:%SZ", gmtime(&now));
}

static void test_runs_are_marked_by_what_holds_for_the_press(void **state)
{
	struct lab *lab = *state;
	char high[LAB_PATH_SIZE], low[LAB_PATH_SIZE], date[32];
	snprintf(high, sizeof high, "%.60s/high.csv", lab->folder);
	snprintf(low, sizeof low, "%.60s/low.csv", lab->folder);
	write_curve(high, 300);
	write_curve(low, 150);
	today(date, sizeof date);
	struct harness_process *press = lab_start_press(lab, 0, "--file", high, "--file", high,
		"--file", low, "--file", high, "--noise-n", "5", NULL);
	struct harness_process *daemon = lab_start_daemon(lab);
	struct harness_process *monitor = lab_start_monitor(lab);
	harness_expect(monitor, "press-1", "not verified", NULL);

	lab_must(lab, 1, "verification", "press-1", NULL);
	check_due(lab, "; press press-1: press not verified: no verification is recorded");
	play(press, daemon, "1");
	harness_expect(monitor, "run 1 is over", "NOT REPORTABLE", NULL);
	lab_must(lab, 0, "verification", "press-1", "--record", "--date", date, "--reference",
		"load ring 7", "--increment", "0.1kN", "--range", "200kN,2000kN", "--error",
		"0.4,-0.2", "--error", "0.1,0.1", NULL);
	lab_must(lab, 0, "verification", "press-1", NULL);
	check_due(lab, "; press press-1: verification due 20");
	play(press, daemon, "2");
	play(press, daemon, "3");
	lab_must(lab, 0, "verification", "press-1", "--repair", "new pump", NULL);
	harness_expect(monitor, "NOTE", "repair: new pump", NULL);
	play(press, daemon, "4");

	check_reportable(lab, "1", "no verification is recorded");
	check_reportable(lab, "2", NULL);
	check_reportable(lab, "3", "below the verified range");
	check_reportable(lab, "4", "repair: new pump");
	must_say(lab, "* run 3 is not reportable: 150.0 kN lies below", "runs", NULL);
	must_say(lab, "NOT REPORTABLE: press not verified", "show", "1");
	must_say(lab, "# reportable: no", "export", "4");
	must_say(lab, "# reportable: yes", "export", "2");
	lab_must(lab, 0, "audit", NULL);
	assert_int_equal(harness_stop(daemon, SIGTERM), 0);
}

static struct harness_process *start_taking(struct lab *lab)
{
	const char *const argv[] = {getenv("RAMPLOG"), "verification", "press-1", "--take",
		"--reference", "load ring 7, certificate 31", "--increment", "0.01kN", "--socket",
		lab->socket, NULL};
	return harness_start(argv);
}

/* What the reference reads is a little off what the press is held at, by its own error. */
static void apply(struct harness_process *press, struct harness_process *taking, double true_kn,
	double error_percent)
{
	char words[64], error[32];
	snprintf(words, sizeof words, "hold %.2f", true_kn * (1 + error_percent / 100));
	harness_tell(press, words);
	harness_expect(press, "holds", NULL);
	snprintf(words, sizeof words, "%.2f kN", true_kn);
	harness_tell(taking, words);
	/* On a busy machine the new load may not have arrived yet: then it is asked for again. */
	snprintf(error, sizeof error, "error %+.2f %%", error_percent);
	for (;;) {
		const char *line = harness_expect(taking, "  ", NULL);
		if (strstr(line, error) != NULL)
			return;
		if (strstr(line, "again") != NULL)
			harness_tell(taking, words);
	}
}

static void release(struct harness_process *press, struct harness_process *taking)
{
	harness_expect(taking, "release the load", NULL);
	harness_tell(press, "hold 0");
	harness_expect(press, "holds", NULL);
	harness_tell(taking, "");
	while (strstr(harness_expect(taking, "  the ", NULL), "reads") == NULL)
		harness_tell(taking, "");
}

/* After the second force: one that cannot be, one that is a slip, and the second once more. */
static void mistake(struct harness_process *press, struct harness_process *taking, int run)
{
	harness_tell(taking, run == 0 ? "1000 kN" : "1500");
	if (run == 0) {
		harness_expect(taking, "so large an error is more likely a slip", "`keep`", NULL);
		harness_tell(taking, "700 kN");
		harness_expect(taking, "the force before it was 800 kN", NULL);
	} else {
		harness_expect(taking, "run 1 had 1200 kN here", NULL);
	}
	harness_tell(taking, "back");
	harness_expect(taking, run == 0 ? "run 1, force 2" : "run 2, force 2", NULL);
	apply(press, taking, 800, 0.2);
}

static void take_all(struct harness_process *press, struct harness_process *taking, double error)
{
	harness_tell(taking, "");
	harness_expect(taking, "it flutters", NULL);
	harness_tell(taking, "four hundred");
	harness_expect(taking, "is no load", NULL);
	for (int run = 0; run < 2; run++) {
		for (int i = 1; i <= 5; i++) {
			apply(press, taking, 400 * i, i == 3 ? error : 0.2);
			if (i == 2)
				mistake(press, taking, run);
		}
		if (run == 0)
			harness_tell(taking, "");
		release(press, taking);
	}
}

static void test_a_verification_is_taken_by_hand(void **state)
{
	struct lab *lab = *state;
	struct harness_process *press = lab_start_press(lab, 0, "--noise-n", "3", NULL);
	struct harness_process *daemon = lab_start_daemon(lab);
	harness_expect(daemon, "ready", NULL);

	struct harness_process *taking = start_taking(lab);
	harness_expect(taking, "unload the press", NULL);
	take_all(press, taking, 1.3);
	harness_expect(taking, "+1.30", NULL);
	harness_expect(taking, "FAILED", "larger than 1.0 %", NULL);
	harness_tell(taking, "yes");
	assert_int_equal(harness_wait(taking), 1);
	lab_must(lab, 1, "verification", "press-1", NULL);

	taking = start_taking(lab);
	take_all(press, taking, 0.4);
	harness_expect(taking, "PASSED, verified from 400 to 2000 kN", NULL);
	harness_tell(taking, "yes");
	assert_int_equal(harness_wait(taking), 0);

	json_t *shown = lab_json(lab, "verification", "press-1", NULL);
	const json_t *list = json_object_get(shown, "verifications");
	assert_int_equal(json_array_size(list), 2);
	const json_t *last = json_array_get(list, 0);
	assert_true(json_is_true(json_object_get(last, "passed")));
	assert_true(json_is_true(json_object_get(last, "guided")));
	assert_int_equal(json_array_size(json_object_get(last, "forces")), 5);
	check_near(json_number_value(json_object_get(last, "worst_percent")), 0.4, 0.01);
	json_decref(shown);
}

static void test_a_verification_that_is_left_stores_nothing(void **state)
{
	struct lab *lab = *state;
	lab_start_press(lab, 0, "--noise-n", "3", NULL);
	harness_expect(lab_start_daemon(lab), "ready", NULL);
	struct harness_process *taking = start_taking(lab);
	harness_expect(taking, "unload the press", NULL);
	harness_tell_end(taking);
	harness_expect(taking, "nothing is stored", NULL);
	assert_int_equal(harness_wait(taking), 2);
	lab_must(lab, 1, "verification", "press-1", NULL);
	/* what cannot be */
	lab_must(lab, 2, "verification", NULL);
	lab_must(lab, 2, "verification", "press-1", "--record", NULL);
	lab_must(lab, 2, "verification", "press-1", "--record", "--date", "2126-01-01",
		"--reference", "ring", "--increment", "0.1kN", "--range", "200kN,2000kN", NULL);
	lab_must(lab, 2, "verification", "press-1", "--record", "--date", "2026-01-01",
		"--reference", "ring", "--increment", "0.1kN", "--range", "100kN,2000kN", "--error",
		"0.1,0.1", NULL);
	lab_must(lab, 2, "verification", "press-1", "--record", "--date", "2026-01-01",
		"--reference", "ring", "--increment", "0.1kN", "--range", "200kN,2000kN", NULL);
	lab_must(lab, 2, "verification", "press-1", "--take", "--doubt", "x", NULL);
	lab_must(lab, 2, "verification", "press-1", "--range", "200kN", NULL);
	lab_must(lab, 2, "verification", "press-9", "--doubt", "reads low", NULL);
	lab_must(lab, 2, "zero", "press-9", NULL);
	lab_must(lab, 2, "zero", NULL);
	lab_must(lab, 2, "care", "press-1", "--note", "oiled", NULL);
	lab_must(lab, 1, "care", "press-1", NULL);
	lab_must(lab, 0, "care", "press-1", "--done", "--note", "oiled", NULL);
	lab_must(lab, 0, "care", "press-1", NULL);
}

/* Four cells at the corners of a square of 200 mm; the links are given to rampsim. */
static void configure_four(struct lab *lab, char links[CELLS_MAX][LAB_PATH_SIZE])
{
	static const char *const places[] = {"-100, -100", "100, -100", "100, 100", "-100, 100"};
	assert_int_equal(unlink(lab->config), 0);
	lab_write(lab->config,
		"[ramplogd]\ndatabase = %s\nsocket = %s\n[press press-1]\ncapacity = 2000 kN\n"
		"contact = 400 N\nzero_limit = 100 N\ndrift_limit = 50 N\neccentricity = 5 mm\n"
		"block = 102 mm\n",
		lab->database, lab->socket);
	for (size_t i = 0; i < CELLS_MAX; i++) {
		snprintf(links[i], LAB_PATH_SIZE, "%.60s/corner-%zu", lab->folder, i);
		lab_write(lab->config,
			"[cell corner-%zu]\npress = press-1\ndevice = %s\nbaud = 921600\n"
			"position = %s mm\n",
			i, links[i], places[i]);
	}
}

static struct harness_process *start_four(
	char links[CELLS_MAX][LAB_PATH_SIZE], const char *curve, const char *shares)
{
	const char *const argv[] = {getenv("RAMPSIM"), "--link", links[0], "--link", links[1],
		"--link", links[2], "--link", links[3], "--start-on", "go", "--file", curve,
		"--noise-n", "2", "--zero-n", "240", "--decimals", "4", "--shares", shares, NULL};
	struct harness_process *press = harness_start(argv);
	for (size_t i = 0; i < CELLS_MAX; i++)
		harness_expect(press, "rampsim: link ", NULL);
	return press;
}

static const json_t *find_event(const json_t *run, const char *kind)
{
	const json_t *events = json_object_get(run, "events");
	for (size_t i = 0; i < json_array_size(events); i++) {
		const json_t *event = json_array_get(events, i);
		if (strcmp(text_at(event, "kind"), kind) == 0)
			return event;
	}
	return NULL;
}

/* 27 % on each right cell, 23 % on each left one: 8 % of the load at 100 mm is 8 mm. */
static void test_zero_thrust_and_block_are_watched(void **state)
{
	struct lab *lab = *state;
	char links[CELLS_MAX][LAB_PATH_SIZE], curve[LAB_PATH_SIZE];
	snprintf(curve, sizeof curve, "%.60s/curve.csv", lab->folder);
	write_curve(curve, 100);
	configure_four(lab, links);
	struct harness_process *press = start_four(links, curve, "23,27,27,23");
	struct harness_process *daemon = lab_start_daemon(lab);
	struct harness_process *monitor = lab_start_monitor(lab);
	harness_expect(monitor, "the unloaded press reads 0.24", NULL);

	lab_must(lab, 0, "register", "A", "--diameter-mm", "100", "--length-mm", "200", NULL);
	lab_must(lab, 0, "seat", "press-1", "A", NULL);
	harness_expect(monitor, "too small for A", NULL);
	play(press, daemon, "1");
	harness_expect(monitor, "zero_offset", NULL);
	harness_expect(monitor, "eccentric", "from the centre", NULL);
	json_t *run = lab_json(lab, "show", "1", NULL);
	assert_non_null(find_event(run, "zero_offset"));
	assert_non_null(find_event(run, "small_block"));
	const json_t *event = find_event(run, "eccentric");
	assert_non_null(event);
	assert_non_null(strstr(text_at(event, "text"), "acts 8."));
	const json_t *thrust = json_object_get(run, "thrust");
	check_near(json_number_value(json_object_get(thrust, "x_mm")), 8, 0.3);
	check_near(json_number_value(json_object_get(thrust, "y_mm")), 0, 0.3);
	json_decref(run);
	must_say(lab, "point of thrust", "show", "1");
	lab_must(lab, 0, "audit", NULL);

	harness_expect(monitor, "the unloaded press reads 0.24", NULL);
	lab_must(lab, 0, "zero", "press-1", "--note", "warm oil", NULL);
	harness_expect(daemon, "corner-3 zeroed at 0.0", NULL);
	harness_expect(monitor, "press-1: NOTE: press not verified", NULL);
	/* It outlasts a restart. */
	assert_int_equal(harness_stop(daemon, SIGTERM), 0);
	harness_expect(monitor, "no live data", NULL);
	daemon = lab_start_daemon(lab);
	harness_expect(monitor, "corner-3", "ready", NULL);
	assert_false(harness_sees(monitor, 4, "the unloaded press reads"));
	lab_must(lab, 0, "audit", NULL);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(test_runs_are_marked_by_what_holds_for_the_press,
			lab_set_up, lab_tear_down),
		cmocka_unit_test_setup_teardown(
			test_a_verification_is_taken_by_hand, lab_set_up, lab_tear_down),
		cmocka_unit_test_setup_teardown(
			test_a_verification_that_is_left_stores_nothing, lab_set_up, lab_tear_down),
		cmocka_unit_test_setup_teardown(
			test_zero_thrust_and_block_are_watched, lab_set_up, lab_tear_down),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
