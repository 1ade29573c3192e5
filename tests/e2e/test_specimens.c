/* SPDX-License-Identifier: MIT
 *
 * What a laboratory enters around a break, through the daemon.
 */
#include "lab.h"

#include "unit/check.h"

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Runs ramplog; fails unless status and text are as expected, on the stream that goes with it. */
#define lab_says(lab, expected, text, ...) \
	check_says(lab_run(lab, __VA_ARGS__, NULL), expected, text)

static void check_says(struct harness_output output, int status, const char *text)
{
	const char *said = status == 0 ? output.text : output.errors;
	if (output.status != status || !strstr(said, text))
		fail_msg("status %d, not %d, or no '%s': %s%s", output.status, status, text,
			output.text, output.errors);
	harness_output_finish(&output);
}

static void test_confirming_a_method(void **state)
{
	struct lab *lab = *state;
	struct harness_process *daemon = lab_start_daemon(lab);
	lab_says(lab, 0, "against C39M-21", "methods", "--confirm", "astm-c39", "--edition",
		"C39M-21");
	lab_says(lab, 0, "against C39M-21 by ", "methods", "astm-c39");
	/* What this shell reads and the daemon does not is not what is judged by. */
	char file[LAB_PATH_SIZE];
	snprintf(file, sizeof file, "%.60s/yard-1.ini", lab->folder);
	lab_write(file, "[method]\nname = yard-1\nstandard = Yard 1\nunits = SI\n"
			"[specimen]\nshapes = cube\n"
			"[rate]\nunit = MPa/s\nband = 0.2 to 0.3\nfrom = 50 %%\nto = 90 %%\n"
			"[strength]\nreport = 0.1 MPa\n");
	setenv("RAMPLOG_METHODS", lab->folder, 1);
	lab_says(lab, 2, "the daemon knows no method yard-1", "methods", "--confirm", "yard-1",
		"--edition", "1");
	unsetenv("RAMPLOG_METHODS");
	harness_stop(daemon, SIGTERM);
	lab_must(lab, 0, "audit", NULL);
}

static void test_registering_through_the_daemon(void **state)
{
	struct lab *lab = *state;
	struct harness_process *daemon = lab_start_daemon(lab);
	char file[LAB_PATH_SIZE];
	lab_says(lab, 0, "B-1 is registered, 18026.7 mm2, 2360 kg/m3", "register", "B-1",
		"--diameter-mm", "151.5,151.25,151.75", "--length-mm", "305", "--mass-kg", "12.95",
		"--moist", "yes");
	lab_says(lab, 2, "out of square", "register", "B-2", "--diameter-mm", "150", "--square-deg",
		"0.7");
	/* Flags come through the daemon; what it printed is as expected where a NOTE is on stderr.
	 */
	struct harness_output output =
		lab_run(lab, "register", "B-3", "--diameter-mm", "150.1", "--moist", "no", NULL);
	assert_int_equal(output.status, 0);
	assert_non_null(strstr(output.errors, "NOTE: 150.100 mm is not to the nearest 0.25 mm"));
	assert_non_null(strstr(output.errors, "NOTE: the specimen was not kept moist"));
	harness_output_finish(&output);
	snprintf(file, sizeof file, "%.60s/day.csv", lab->folder);
	lab_write(file, "id,diameter_mm\nC-1,150\nB-1,150\n");
	lab_says(lab, 2, "day.csv:3: B-1: specimen B-1 is registered already", "register", "--csv",
		file);
	lab_write(file, "C-2,150.25\n");
	lab_must(lab, 2, "seat", "press-1", "C-1", NULL);
	snprintf(file, sizeof file, "%.60s/good.csv", lab->folder);
	lab_write(file, "id,diameter_mm\nC-1,150\nC-2,150.25\n");
	lab_says(lab, 0, "2 specimens are registered", "register", "--csv", file);
	lab_must(lab, 0, "seat", "press-1", "C-1", NULL);
	harness_stop(daemon, SIGTERM);
	lab_must(lab, 0, "audit", NULL);
}

#define IN_LAB(test) cmocka_unit_test_setup_teardown(test, lab_set_up, lab_tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		IN_LAB(test_confirming_a_method),
		IN_LAB(test_registering_through_the_daemon),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
