/* SPDX-License-Identifier: MIT
 *
 * One break from end to end: a specimen registered and seated, loaded to its fracture behind a
 * serial line, judged, stored, shown, exported, audited.
 */
#include "exported.h"
#include "lab.h"

#include "base/clocks.h"
#include "base/units.h"
#include "unit/check.h"

#include <signal.h>
#include <stdio.h>
#include <string.h>

static void register_and_seat(struct lab *lab, const char *id)
{
	lab_must(lab, 0, "register", id, "--set", "pier-7d", "--method", "astm-c39",
		"--diameter-mm", "100.0", "--length-mm", "200", "--anticipated-mpa", "5", NULL);
	lab_must(lab, 0, "seat", "press-1", id, NULL);
}

static double number_at(const json_t *object, const char *name)
{
	const json_t *value = json_object_get(object, name);
	if (!json_is_number(value))
		fail_msg("no number %s", name);
	return json_number_value(value);
}

static const char *text_at(const json_t *object, const char *name)
{
	const char *text = json_string_value(json_object_get(object, name));
	if (text == NULL)
		fail_msg("no text %s", name);
	return text;
}

/* Plays the next curve to its end; returns the highest line in newtons. */
static double play(struct harness_process *press)
{
	double kilonewton = 0;
	harness_tell(press, "go");
	const char *line = harness_expect(press, "ends, highest line", NULL);
	assert_int_equal(sscanf(strstr(line, "line "), "line %lf kN", &kilonewton), 1);
	return kilonewton * 1000;
}

static void check_run(const json_t *run, const char *specimen, const char *verdict, double maximum)
{
	assert_string_equal(text_at(run, "press"), "press-1");
	assert_string_equal(text_at(run, "specimen"), specimen);
	assert_string_equal(text_at(run, "end"), "broken");
	assert_string_equal(text_at(run, "basis"), "anticipated");
	assert_string_equal(text_at(json_object_get(run, "rate"), "verdict"), verdict);
	check_near(number_at(run, "maximum_load_n"), maximum, 1e-6);
	/* strength = load / area, ASTM C39 section 9 */
	check_near(number_at(run, "strength_mpa"), maximum / (acos(-1) / 4 * 100 * 100), 1e-9);
}

static void test_two_breaks_are_stored_as_they_were(void **state)
{
	struct lab *lab = *state;
	struct harness_process *press = lab_start_press(lab, 0, "--curve", "good,fast",
		"--strength-mpa", "5", "--hz", "100", "--noise-n", "5", NULL);
	struct harness_process *daemon = lab_start_daemon(lab);
	struct harness_process *monitor = lab_start_monitor(lab);
	harness_expect(monitor, "press-1", "ready", NULL);

	register_and_seat(lab, "pier-7d-A");
	double good = play(press);
	harness_expect(monitor, "run 1", "broken", NULL);
	register_and_seat(lab, "pier-7d-B");
	double fast = play(press);
	harness_expect(monitor, "ease the valve", NULL);
	harness_expect(monitor, "run 2", "broken", NULL);
	lab_must(lab, 0, "fracture", "1", "3", "--note", "columnar", NULL);
	harness_expect(monitor, "fracture", NULL);

	json_t *first = lab_json(lab, "show", "1", NULL);
	check_run(first, "pier-7d-A", "in_band", good);
	assert_int_equal(number_at(first, "fracture"), 3);
	json_t *second = lab_json(lab, "show", "2", NULL);
	check_run(second, "pier-7d-B", "out_of_band", fast);
	json_decref(first);
	json_decref(second);
	json_t *runs = lab_json(lab, "runs", NULL);
	assert_int_equal(json_array_size(runs), 2);
	json_decref(runs);

	lab_must(lab, 0, "show", "1", NULL);
	lab_must(lab, 0, "audit", NULL);
	assert_int_equal(harness_stop(daemon, SIGTERM), 0);
	lab_must(lab, 0, "audit", NULL);
}

static void test_export_is_the_curve_that_was_played(void **state)
{
	struct lab *lab = *state;
	char path[LAB_PATH_SIZE];
	struct curve played, exported;
	snprintf(path, sizeof path, "%.60s/played.csv", lab->folder);
	lab_write(path, "time_s,load_kn\n");
	for (int i = 0; i <= 400; i++)
		lab_write(path, "%d.%02d,%.3f\n", i / 100, i % 100, 1 + 0.05 * i);
	lab_write(path, "4.02,12.0\n4.03,3.0\n");
	exported_read(path, &played);

	struct harness_process *press =
		lab_start_press(lab, 0, "--file", path, "--noise-n", "0", "--decimals", "3", NULL);
	struct harness_process *daemon = lab_start_daemon(lab);
	harness_expect(daemon, "ready", NULL);
	play(press);
	harness_expect(daemon, "run 1", "broken", NULL);
	exported_run(lab, "1", &exported);
	exported_must_equal(&exported, &played, 1);
	curve_finish(&played);
	curve_finish(&exported);
}

static void test_questions_without_an_answer(void **state)
{
	struct lab *lab = *state;
	harness_stop(lab_start_daemon(lab), SIGTERM);
	lab_must(lab, 1, "show", "7", NULL);
	lab_must(lab, 1, "audit", "7", NULL);
	lab_must(lab, 1, "runs", "--specimen", "nobody", NULL);
	lab_must(lab, 2, "fracture", "1", "9", NULL);
	lab_must(lab, 2, "show", "one", NULL);
	lab_must(lab, 2, "runs", "--colour", NULL);
	lab_must(lab, 2, "nothing", NULL);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(
			test_two_breaks_are_stored_as_they_were, lab_set_up, lab_tear_down),
		cmocka_unit_test_setup_teardown(
			test_export_is_the_curve_that_was_played, lab_set_up, lab_tear_down),
		cmocka_unit_test_setup_teardown(
			test_questions_without_an_answer, lab_set_up, lab_tear_down),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
