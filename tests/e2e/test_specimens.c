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

#define IN_LAB(test) cmocka_unit_test_setup_teardown(test, lab_set_up, lab_tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		IN_LAB(test_confirming_a_method),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
