/* SPDX-License-Identifier: MIT
 *
 * Real programs under test: start them, wait for what they say, tell them things, stop them.
 * Nothing sleeps; every wait has a deadline and ends with the awaited line. A wait that fails
 * prints all that the program said.
 *
 * Programs die with the test (parent-death signal); harness_stop_all stops those that a failed test
 * left behind.
 */
#ifndef TESTS_E2E_HARNESS_H
#define TESTS_E2E_HARNESS_H

#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>

enum {
	HARNESS_PROCESSES_MAX = 24,
	HARNESS_LINE_MAX = 4096,
	/* Long enough for a sanitized program on a busy machine; a good test never comes near. */
	HARNESS_PATIENCE_S = 30,
};

/* A running program; owned by the harness. */
struct harness_process;

/* Starts argv[0] with its standard output and error merged, its input open for harness_tell. */
struct harness_process *harness_start(const char *const *argv);
/* Waits until the program prints a line that contains each of the texts (the list ends with NULL);
 * lines before it are passed over. Returns the line, valid until the next call for this program. */
const char *harness_expect(struct harness_process *process, const char *text, ...)
	__attribute__((sentinel));
/* The same with another deadline. */
const char *harness_expect_within(struct harness_process *process, int seconds, const char *text);
/* Like harness_expect, but false when the program ends or the deadline passes first. */
bool harness_sees(struct harness_process *process, int seconds, const char *text);
/* All that the program has been heard to say; valid until the next call for it. */
const char *harness_text(const struct harness_process *process);
/* Writes a line to the program's standard input. */
void harness_tell(struct harness_process *process, const char *line);
/* Closes its input. */
void harness_tell_end(struct harness_process *process);
pid_t harness_pid(const struct harness_process *process);
/* Sends the signal, waits for the end; returns the exit status, or 128 + the signal that ended it.
 */
int harness_stop(struct harness_process *process, int signal);
/* Waits for the end by itself. */
int harness_wait(struct harness_process *process);
void harness_stop_all(void);

struct harness_output {
	int status;   /* as harness_stop gives it */
	char *text;   /* standard output, NUL-terminated; owned */
	char *errors; /* standard error; owned */
};

/* Runs a command to its end, within HARNESS_PATIENCE_S. Free with harness_output_finish. */
struct harness_output harness_run(const char *const *argv);
void harness_output_finish(struct harness_output *output);

#endif
