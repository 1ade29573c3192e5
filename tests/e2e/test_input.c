/* SPDX-License-Identifier: MIT
 *
 * Wrong input from people: configuration, options, specimens. Each is answered with what, where
 * and what to do, and with the exit status promised.
 */
#include "lab.h"

#include "unit/check.h"

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void test_registering_nonsense(void **state)
{
	struct lab *lab = *state;
	harness_stop(lab_start_daemon(lab), SIGTERM);
	lab_must(lab, 2, "register", "zero", "--diameter-mm", "0", NULL);
	lab_must(lab, 2, "register", "two-unlike", "--diameter-mm", "100,110", NULL);
	lab_must(lab, 0, "register", "once", "--diameter-mm", "100", NULL);
	lab_must(lab, 2, "register", "once", "--diameter-mm", "100", NULL);
	lab_must(lab, 2, "seat", "press-1", "never-registered", NULL);
}

/* The daemon's config is read to its end: all errors come, each with its line. */
static void test_config_errors(void **state)
{
	struct lab *lab = *state;
	lab_write(lab->config, "colour = blue\n[cell cell-9]\npress = nowhere\ndevice = /dev/null\n"
			       "baud = fast\n");
	struct harness_process *daemon = lab_try_daemon(lab);
	harness_expect(daemon, lab->config, ":11:", "colour", NULL);
	harness_expect(daemon, lab->config, ":15:", "baud", NULL);
	assert_int_equal(harness_wait(daemon), 2);
}

static void test_config_check(void **state)
{
	struct lab *lab = *state;
	const char *argv[] = {getenv("RAMPLOGD"), "--config", lab->config, "--check", NULL};
	struct harness_output output = harness_run(argv);
	assert_int_equal(output.status, 0);
	assert_non_null(strstr(output.text, "press-1"));
	harness_output_finish(&output);
	lab_write(lab->config, "colour = blue\n");
	output = harness_run(argv);
	assert_int_not_equal(output.status, 0);
	assert_non_null(strstr(output.errors, "colour"));
	harness_output_finish(&output);
}

static void test_daemon_options(void **state)
{
	struct lab *lab = *state;
	const char *const unknown[] = {getenv("RAMPLOGD"), "--colour", NULL};
	const char *const absent[] = {getenv("RAMPLOGD"), "--config", "/nowhere/config", NULL};
	(void)lab;
	struct harness_output output = harness_run(unknown);
	assert_int_equal(output.status, 2);
	harness_output_finish(&output);
	output = harness_run(absent);
	assert_int_equal(output.status, 2);
	assert_non_null(strstr(output.errors, "/nowhere/config"));
	harness_output_finish(&output);
}

#define IN_LAB(test) cmocka_unit_test_setup_teardown(test, lab_set_up, lab_tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		IN_LAB(test_registering_nonsense),
		IN_LAB(test_config_errors),
		IN_LAB(test_config_check),
		IN_LAB(test_daemon_options),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
