/* SPDX-License-Identifier: MIT
 *
 * What happens to serial ports: absent at the start, unplugged in mid-run and back, garbage,
 * silence, a second daemon. The daemon says so, loses nothing that arrived, and goes on by itself.
 */
#include "lab.h"

#include "unit/check.h"

#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

static void test_device_that_comes_later(void **state)
{
	struct lab *lab = *state;
	struct harness_process *daemon = lab_start_daemon(lab);
	harness_expect(daemon, lab->device[0], NULL);
	struct harness_process *press =
		lab_start_press(lab, 0, "--curve", "good", "--strength-mpa", "2", NULL);
	harness_expect(daemon, "ready", NULL);
	harness_tell(press, "go");
	harness_expect(daemon, "run 1", "broken", NULL);
	assert_int_equal(harness_stop(daemon, SIGTERM), 0);
}

static void test_unplugged_in_mid_run(void **state)
{
	struct lab *lab = *state;
	struct harness_process *press = lab_start_press(
		lab, 0, "--curve", "good", "--strength-mpa", "4", "--hz", "100", NULL);
	struct harness_process *daemon = lab_start_daemon(lab);
	struct harness_process *monitor = lab_start_monitor(lab);
	harness_expect(daemon, "ready", NULL);
	harness_tell(press, "go");
	harness_expect(monitor, "first half", NULL);
	harness_tell(press, "unplug");
	harness_expect(press, "unplug begins", NULL);
	harness_expect(monitor, "absent", NULL);
	harness_tell(press, "mend");
	harness_expect(press, "link", NULL);
	harness_expect(monitor, "ready", NULL);
	harness_expect(monitor, "run 1", "broken", NULL);

	json_t *run = lab_json(lab, "show", "1", NULL);
	json_t *events = json_object_get(run, "events"), *event = NULL;
	size_t index, gaps = 0;
	json_array_foreach(events, index, event) gaps +=
		strcmp(json_string_value(json_object_get(event, "kind")), "gap") == 0;
	assert_true(gaps >= 1); /* a busy machine holds the simulator back and makes more */
	json_decref(run);
	lab_must(lab, 0, "audit", NULL);
	assert_int_equal(harness_stop(daemon, SIGTERM), 0);
}

static void test_garbage_on_the_wire(void **state)
{
	struct lab *lab = *state;
	struct harness_process *press = lab_start_press(lab, 0, "--curve", "good", "--strength-mpa",
		"3", "--hz", "200", "--fault", "garbage=0.03", "--fault", "half=0.01", "--fault",
		"drop=0.01", NULL);
	struct harness_process *daemon = lab_start_daemon(lab);
	harness_expect(daemon, "ready", NULL);
	harness_tell(press, "go");
	harness_expect(daemon, "run 1", "broken", NULL);
	double maximum = 0, highest = 0;
	const char *line = harness_expect(press, "ends, highest line", NULL);
	sscanf(strstr(line, "line "), "line %lf kN", &highest);
	json_t *run = lab_json(lab, "show", "1", NULL);
	maximum = json_number_value(json_object_get(run, "maximum_load_n"));
	json_decref(run);
	/* The highest line may be one that garbage before it spoilt: its neighbours are close. */
	check_near(maximum, highest * 1000, 100);
	lab_must(lab, 0, "audit", NULL);
	assert_int_equal(harness_stop(daemon, SIGTERM), 0);
}

static void test_cell_that_falls_silent(void **state)
{
	struct lab *lab = *state;
	struct harness_process *press = lab_start_press(lab, 0, NULL);
	struct harness_process *daemon = lab_start_daemon(lab);
	struct harness_process *monitor = lab_start_monitor(lab);
	harness_expect(monitor, "ready", NULL);
	harness_tell(press, "silence");
	harness_expect(monitor, "silent", NULL);
	harness_tell(press, "mend");
	harness_expect(monitor, "ready", NULL);
	assert_int_equal(harness_stop(daemon, SIGTERM), 0);
}

static void test_second_daemon_is_refused(void **state)
{
	struct lab *lab = *state;
	lab_start_press(lab, 0, NULL);
	struct harness_process *daemon = lab_start_daemon(lab);
	harness_expect(daemon, "ready", NULL);
	struct harness_process *second = lab_try_daemon(lab);
	harness_expect(second, lab->folder, NULL);
	assert_int_equal(harness_wait(second), 2);
	lab_must(lab, 0, "register", "still-served", "--diameter-mm", "100", NULL);
	assert_int_equal(harness_stop(daemon, SIGTERM), 0);
}

/* Same port, but another database and socket: the port's lock is what refuses it. */
static void test_port_of_another_daemon(void **state)
{
	struct lab *lab = *state;
	struct lab other = *lab;
	lab_start_press(lab, 0, NULL);
	struct harness_process *daemon = lab_start_daemon(lab);
	harness_expect(daemon, "ready", NULL);
	snprintf(other.config, LAB_PATH_SIZE, "%.60s/config-2", lab->folder);
	snprintf(other.socket, LAB_PATH_SIZE, "%.60s/socket-2", lab->folder);
	lab_write(other.config,
		"[ramplogd]\ndatabase = %s-2\nsocket = %s\n[press other]\ncapacity = 2000 kN\n"
		"[cell other-1]\npress = other\ndevice = %s\n",
		lab->database, other.socket, lab->device[0]);
	struct harness_process *second = lab_start_daemon(&other);
	harness_expect(second, "other-1", "in use", NULL);
	assert_int_equal(harness_stop(second, SIGTERM), 0);
	assert_int_equal(harness_stop(daemon, SIGTERM), 0);
}

static void test_socket_path_that_is_a_file(void **state)
{
	struct lab *lab = *state;
	lab_write(lab->socket, "not a socket\n");
	struct harness_process *daemon = lab_try_daemon(lab);
	harness_expect(daemon, lab->socket, NULL);
	assert_int_equal(harness_wait(daemon), 2);
	assert_int_equal(access(lab->socket, F_OK), 0);
}

/* What a daemon that was killed leaves behind is no obstacle. */
static void test_stale_socket_is_replaced(void **state)
{
	struct lab *lab = *state;
	harness_stop(lab_start_daemon(lab), SIGKILL);
	assert_int_equal(access(lab->socket, F_OK), 0);
	assert_int_equal(harness_stop(lab_start_daemon(lab), SIGTERM), 0);
	assert_int_not_equal(access(lab->socket, F_OK), 0);
}

#define IN_LAB(test) cmocka_unit_test_setup_teardown(test, lab_set_up, lab_tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		IN_LAB(test_device_that_comes_later),
		IN_LAB(test_unplugged_in_mid_run),
		IN_LAB(test_garbage_on_the_wire),
		IN_LAB(test_cell_that_falls_silent),
		IN_LAB(test_second_daemon_is_refused),
		IN_LAB(test_port_of_another_daemon),
		IN_LAB(test_socket_path_that_is_a_file),
		IN_LAB(test_stale_socket_is_replaced),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
