/* SPDX-License-Identifier: MIT
 *
 * Three real crushing tests played through three serial lines at their own pace, recorded, judged,
 * exported and audited. LebeDigital open research data, see tests/README.md: two cubes of 150 mm
 * and a cylinder, load controlled at 0.50 MPa/s, which is within 10 % of a rate of 0.5 chosen under
 * EN 12390-3, and outside the band of ASTM C39 from start to end.
 *
 * Skipped (exit 77) unless RAMPLOG_REFERENCE names the folder.
 */
#include "exported.h"
#include "lab.h"

#include "base/units.h"
#include "unit/check.h"

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { CURVES = 3, CURVE_SECONDS_MAX = 200, EXIT_SKIPPED = 77 };

static const struct played {
	const char *name;
	bool cube;
	const char *verdict;
} all_played[CURVES] = {
	{"cube150_M03_07d_3", true, "in_band"},
	{"cube150_M04_07d_1", true, "in_band"},
	{"cyl100x300_M01_28d_Z02", false, "out_of_band"},
};

static void curve_path(const struct played *played, char *path, size_t size)
{
	snprintf(path, size, "%s/curves/%s.csv", getenv("RAMPLOG_REFERENCE"), played->name);
}

static void register_and_seat(struct lab *lab, size_t i)
{
	const struct played *played = &all_played[i];
	if (played->cube)
		lab_must(lab, 0, "register", played->name, "--method", "en-12390-3", "--side-mm",
			"150", "--height-mm", "150", "--rate-mpa-s", "0.5", NULL);
	else
		lab_must(lab, 0, "register", played->name, "--method", "astm-c39", "--diameter-mm",
			"99", "--length-mm", "299", NULL);
	lab_must(lab, 0, "seat", lab->press[i], played->name, NULL);
}

static double highest_newton(const struct curve *curve)
{
	int64_t highest_un = 0;
	for (size_t i = 0; i < curve->count; i++)
		if (curve->samples[i].load_un > highest_un)
			highest_un = curve->samples[i].load_un;
	return (double)highest_un / (double)UNITS_UN_PER_N;
}

/* The run of that specimen, whichever number the order of the contacts gave it. */
static void check_run(struct lab *lab, const struct played *played)
{
	char path[512], run[24];
	struct curve curve, exported;
	curve_path(played, path, sizeof path);
	exported_read(path, &curve);
	json_t *runs = lab_json(lab, "runs", "--specimen", played->name, NULL);
	json_t *object = json_array_get(runs, 0);
	assert_string_equal(json_string_value(json_object_get(object, "end")), "broken");
	check_near(json_number_value(json_object_get(object, "maximum_load_n")),
		highest_newton(&curve), 5 + 1e-6);
	const json_t *rate = json_object_get(object, "rate");
	print_message("%s: %s\n", played->name, json_string_value(json_object_get(rate, "reason")));
	assert_string_equal(json_string_value(json_object_get(rate, "verdict")), played->verdict);
	check_near(json_number_value(json_object_get(rate, "mean_mpa_s")), 0.5, 0.02);
	snprintf(run, sizeof run, "%lld", json_integer_value(json_object_get(object, "run")));
	json_decref(runs);

	exported_run(lab, run, &exported);
	exported_must_equal(&exported, &curve, 10);
	curve_finish(&exported);
	curve_finish(&curve);
}

static void test_real_curves(void **state)
{
	struct lab *lab = *state;
	struct harness_process *presses[CURVES];
	char path[512];
	for (size_t i = 0; i < CURVES; i++) {
		curve_path(&all_played[i], path, sizeof path);
		presses[i] = lab_start_press(lab, i, "--file", path, "--noise-n", "0", NULL);
	}
	struct harness_process *daemon = lab_start_daemon(lab);
	for (size_t i = 0; i < CURVES; i++) {
		harness_expect(daemon, "ready", NULL);
		register_and_seat(lab, i);
	}
	for (size_t i = 0; i < CURVES; i++)
		harness_tell(presses[i], "go");
	for (size_t i = 0; i < CURVES; i++)
		harness_expect_within(daemon, CURVE_SECONDS_MAX, "broken");
	for (size_t i = 0; i < CURVES; i++)
		check_run(lab, &all_played[i]);
	lab_must(lab, 0, "audit", NULL);
	assert_int_equal(harness_stop(daemon, SIGTERM), 0);
}

static int set_up(void **state)
{
	static struct lab lab;
	lab_open(&lab, CURVES);
	*state = &lab;
	return 0;
}

int main(void)
{
	if (getenv("RAMPLOG_REFERENCE") == NULL) {
		puts("RAMPLOG_REFERENCE is not set; see tests/README.md");
		return EXIT_SKIPPED;
	}
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(test_real_curves, set_up, lab_tear_down)};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
