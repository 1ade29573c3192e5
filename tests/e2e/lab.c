/* SPDX-License-Identifier: MIT
 *
 * The laboratory. Where the programs are comes from the build through the environment: RAMPLOG,
 * RAMPLOGD, RAMPSIM.
 */
#include "lab.h"

#include "base/clocks.h"
#include "unit/check.h"

#include <ftw.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

static const char *program(const char *variable)
{
	const char *path = getenv(variable);
	if (path == NULL)
		fail_msg("%s is not set: run this through meson test", variable);
	return path;
}

void lab_write(const char *path, const char *format, ...)
{
	FILE *file = fopen(path, "ae");
	assert_non_null(file);
	va_list arguments;
	va_start(arguments, format);
	vfprintf(file, format, arguments);
	va_end(arguments);
	assert_int_equal(fclose(file), 0);
}

void lab_open(struct lab *lab, size_t press_count)
{
	assert_true(press_count <= LAB_PRESSES_MAX);
	*lab = (struct lab){.folder = "/tmp/ramplog-e2e-XXXXXX"};
	assert_non_null(mkdtemp(lab->folder));
	snprintf(lab->config, LAB_PATH_SIZE, "%.60s/config", lab->folder);
	snprintf(lab->database, LAB_PATH_SIZE, "%.60s/runs.db", lab->folder);
	snprintf(lab->socket, LAB_PATH_SIZE, "%.60s/socket", lab->folder);
	lab_write(lab->config, "[ramplogd]\ndatabase = %s\nsocket = %s\n", lab->database,
		lab->socket);
	for (size_t i = 0; i < press_count; i++) {
		snprintf(lab->press[i], sizeof lab->press[i], "press-%zu", i + 1);
		snprintf(lab->device[i], LAB_PATH_SIZE, "%.60s/cell-%zu", lab->folder, i + 1);
		lab_write(lab->config,
			"[press %s]\ncapacity = 2000 kN\ncontact = 400 N\n"
			"[cell cell-%zu]\npress = %s\ndevice = %s\nbaud = 921600\n",
			lab->press[i], i + 1, lab->press[i], lab->device[i]);
	}
}

static int remove_entry(const char *path, const struct stat *status, int kind, struct FTW *walk)
{
	(void)status;
	(void)kind;
	(void)walk;
	return remove(path);
}

void lab_close(struct lab *lab)
{
	harness_stop_all();
	nftw(lab->folder, remove_entry, 16, FTW_DEPTH | FTW_PHYS);
}

int lab_set_up(void **state)
{
	static struct lab lab;
	lab_open(&lab, 1);
	*state = &lab;
	return 0;
}

int lab_tear_down(void **state)
{
	lab_close(*state);
	return 0;
}

/* Adds the list's texts up to its NULL, and that too. */
static void add_arguments(const char **argv, size_t count, va_list list)
{
	do {
		assert_true(count < LAB_ARGUMENTS_MAX);
		argv[count] = va_arg(list, const char *);
	} while (argv[count++] != NULL);
}

struct harness_process *lab_start_press(struct lab *lab, size_t press, ...)
{
	const char *argv[LAB_ARGUMENTS_MAX] = {
		program("RAMPSIM"), "--link", lab->device[press], "--start-on", "go"};
	va_list list;
	va_start(list, press);
	add_arguments(argv, 5, list);
	va_end(list);
	struct harness_process *sim = harness_start(argv);
	harness_expect(sim, "rampsim: link ", NULL);
	return sim;
}

struct harness_process *lab_try_daemon(struct lab *lab)
{
	const char *const argv[] = {program("RAMPLOGD"), "--config", lab->config, NULL};
	return harness_start(argv);
}

struct harness_process *lab_start_daemon(struct lab *lab)
{
	struct harness_process *daemon = lab_try_daemon(lab);
	harness_expect(daemon, lab->socket, NULL);
	return daemon;
}

struct harness_process *lab_start_monitor(struct lab *lab)
{
	const char *const argv[] = {
		program("RAMPLOG"), "monitor", "--plain", "--socket", lab->socket, NULL};
	return harness_start(argv);
}

static struct harness_output run(struct lab *lab, const char **argv)
{
	setenv("RAMPLOG_DATABASE", lab->database, 1);
	setenv("RAMPLOG_SOCKET", lab->socket, 1);
	return harness_run(argv);
}

struct harness_output lab_run(struct lab *lab, ...)
{
	const char *argv[LAB_ARGUMENTS_MAX] = {program("RAMPLOG")};
	va_list list;
	va_start(list, lab);
	add_arguments(argv, 1, list);
	va_end(list);
	return run(lab, argv);
}

static void check_status(const char *command, const struct harness_output *output, int expected)
{
	if (output->status != expected)
		fail_msg("ramplog %s ended with %d, expected %d; it said:\n%s%s", command,
			output->status, expected, output->text != NULL ? output->text : "",
			output->errors != NULL ? output->errors : "");
}

void lab_must(struct lab *lab, int status, ...)
{
	const char *argv[LAB_ARGUMENTS_MAX] = {program("RAMPLOG")};
	va_list list;
	va_start(list, status);
	add_arguments(argv, 1, list);
	va_end(list);
	struct harness_output output = run(lab, argv);
	check_status(argv[1], &output, status);
	harness_output_finish(&output);
}

json_t *lab_json(struct lab *lab, ...)
{
	const char *argv[LAB_ARGUMENTS_MAX] = {program("RAMPLOG")};
	json_error_t error;
	va_list list;
	va_start(list, lab);
	add_arguments(argv, 1, list);
	va_end(list);
	size_t count = 0;
	while (argv[count] != NULL)
		count++;
	assert_true(count + 1 < LAB_ARGUMENTS_MAX);
	argv[count] = "--json";

	struct harness_output output = run(lab, argv);
	check_status(argv[1], &output, 0);
	json_t *value = json_loads(output.text != NULL ? output.text : "", 0, &error);
	if (value == NULL)
		fail_msg("ramplog %s --json: line %d: %s in:\n%s", argv[1], error.line, error.text,
			output.text != NULL ? output.text : "");
	harness_output_finish(&output);
	return value;
}

int64_t lab_now_ns(void)
{
	struct timespec now;
	clock_gettime(CLOCK_MONOTONIC, &now);
	return now.tv_sec * CLOCKS_NS_PER_S + now.tv_nsec;
}
