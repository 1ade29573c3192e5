/* SPDX-License-Identifier: MIT
 *
 * A break recorded over each dialect through a pseudo terminal: the maximum is the highest reading
 * that the simulated instruments gave, and the record is sound.
 */
#include "lab.h"

#include "unit/check.h"

#include <signal.h>
#include <stdio.h>
#include <string.h>

static double number_at(const json_t *object, const char *name)
{
	const json_t *value = json_object_get(object, name);
	if (!json_is_number(value))
		fail_msg("no number %s", name);
	return json_number_value(value);
}

/* Plays the curve; what was recorded is what each of the cells gave, times their number. */
static void record_break(struct lab *lab, struct harness_process *press,
	struct harness_process *daemon, size_t cells, double newton)
{
	double highest = 0;
	harness_tell(press, "go");
	const char *line = harness_expect(press, "ends, highest line", NULL);
	assert_int_equal(sscanf(strstr(line, "line "), "line %lf", &highest), 1);
	harness_expect(daemon, "run 1", "broken", NULL);
	json_t *run = lab_json(lab, "show", "1", NULL);
	/* Of cells that are read in turn, each may have missed the very highest value. */
	check_near(number_at(run, "maximum_load_n"), highest * newton * (double)cells,
		cells > 1 ? 200 : 1e-3);
	json_decref(run);
	assert_int_equal(harness_stop(daemon, SIGTERM), 0);
	lab_must(lab, 0, "audit", NULL);
}

static void test_plain_line_by_a_pattern(void **state)
{
	struct lab *lab = *state;
	lab_write(lab->config, "pattern = {load 9 OL=over}{skip 1}{unit 2}\n"
			       "example = \"   123.45 kN\"\n");
	struct harness_process *press = lab_start_press(lab, 0, "--curve", "good", "--strength-mpa",
		"2", "--hz", "100", "--noise-n", "0", NULL);
	struct harness_process *daemon = lab_start_daemon(lab);
	harness_expect(daemon, "ready", NULL);
	record_break(lab, press, daemon, 1, 1000);
}

static void test_sma_asked_for_each_weight(void **state)
{
	struct lab *lab = *state;
	lab_write(lab->config, "decoder = sma\nunit = kgf\n");
	struct harness_process *press =
		lab_start_press(lab, 0, "--dialect", "sma", "--unit", "kgf", "--decimals", "1",
			"--curve", "good", "--strength-mpa", "2", "--noise-n", "0", NULL);
	struct harness_process *daemon = lab_start_daemon(lab);
	harness_expect(daemon, "asked in turn", NULL);
	harness_expect(daemon, "ready", NULL);
	record_break(lab, press, daemon, 1, 9.80665);
}

/* The instrument loses its power, and with it what it was asked: it is asked again. */
static void test_sma_that_repeats(void **state)
{
	struct lab *lab = *state;
	lab_write(lab->config, "decoder = sma\nunit = lbf\nrequest = repeated\n");
	struct harness_process *press =
		lab_start_press(lab, 0, "--dialect", "sma", "--unit", "lbf", "--decimals", "0",
			"--curve", "good", "--strength-mpa", "2", "--noise-n", "0", NULL);
	struct harness_process *daemon = lab_start_daemon(lab);
	harness_expect(daemon, "ready", NULL);
	harness_tell(press, "reboot");
	harness_expect(daemon, "silent", NULL);
	harness_tell(press, "mend");
	harness_expect(daemon, "ready", NULL);
	record_break(lab, press, daemon, 1, 4.4482216152605);
}

static void test_modbus_alone(void **state)
{
	struct lab *lab = *state;
	lab_write(lab->config, "decoder = modbus-rtu\nfactor = 0.01\n");
	struct harness_process *press = lab_start_press(lab, 0, "--dialect", "modbus-rtu",
		"--curve", "good", "--strength-mpa", "2", "--noise-n", "0", NULL);
	struct harness_process *daemon = lab_start_daemon(lab);
	/* 8 bytes of a request and 9 of its reply at 10.85 us, and twice 1.75 ms of silence */
	harness_expect(
		daemon, "1 cell asked in turn, at 921600 baud at most 271.4 times a second", NULL);
	harness_expect(daemon, "ready", NULL);
	record_break(lab, press, daemon, 1, 1000);
}

/* Three instruments on one line; the one at address 4 is not there, and holds up nobody. */
static void test_modbus_several_on_one_line(void **state)
{
	struct lab *lab = *state;
	lab_write(lab->config, "decoder = modbus-rtu\nfactor = 0.01\n");
	for (int address = 2; address <= 3; address++)
		lab_write(lab->config,
			"[cell more-%d]\npress = press-1\ndevice = %s\nbaud = 921600\n"
			"decoder = modbus-rtu\naddress = %d\nfactor = 0.01\n",
			address, lab->device[0], address);
	lab_write(lab->config,
		"[press absent]\ncapacity = 2000 kN\n[cell absent]\npress = absent\n"
		"device = %s\nbaud = 921600\ndecoder = modbus-rtu\naddress = 4\n",
		lab->device[0]);
	struct harness_process *press = lab_start_press(lab, 0, "--dialect", "modbus-rtu",
		"--slaves", "3", "--curve", "good", "--strength-mpa", "2", "--noise-n", "0", NULL);
	struct harness_process *daemon = lab_start_daemon(lab);
	harness_expect(daemon, "4 cells asked in turn", "at most 67.9 times a second each", NULL);
	harness_expect(daemon, "more-3", "ready", NULL);
	harness_expect(daemon, "absent", "no answer", NULL);
	record_break(lab, press, daemon, 3, 1000);
}

/* What is wrong with the register map is said in the standard's words. */
static void test_modbus_exception_is_named(void **state)
{
	struct lab *lab = *state;
	lab_write(lab->config, "decoder = modbus-rtu\nregister = 7\n");
	lab_start_press(lab, 0, "--dialect", "modbus-rtu", NULL);
	struct harness_process *daemon = lab_start_daemon(lab);
	harness_expect(daemon, "exception 02, illegal data address", NULL);
	assert_int_equal(harness_stop(daemon, SIGTERM), 0);
}

#define IN_LAB(test) cmocka_unit_test_setup_teardown(test, lab_set_up, lab_tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		IN_LAB(test_plain_line_by_a_pattern),
		IN_LAB(test_sma_asked_for_each_weight),
		IN_LAB(test_sma_that_repeats),
		IN_LAB(test_modbus_alone),
		IN_LAB(test_modbus_several_on_one_line),
		IN_LAB(test_modbus_exception_is_named),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
