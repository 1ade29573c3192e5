/* SPDX-License-Identifier: MIT
 *
 * Calls sub-commands as a person does, each in a process of its own, since argp ends the process on
 * a mistake. No daemon listens.
 */
#ifndef TESTS_UNIT_TOOLS_CALLS_H
#define TESTS_UNIT_TOOLS_CALLS_H

enum { CALLS_OUTPUT_SIZE = 1 << 20, CALLS_ERRORS_SIZE = 4096 };

/* What the last call printed. */
extern char calls_out[CALLS_OUTPUT_SIZE], calls_err[CALLS_ERRORS_SIZE];

/* Runs the command line, words between single spaces; gives the exit code. */
int calls_run(const char *database, const char *line);
/* The same; and it must do what it was asked to. */
void calls_done(const char *database, const char *line);
/* Runs it; it cannot, and says why. */
void calls_refused(const char *database, const char *line, const char *why);
/* Runs it with that text on its standard input. */
int calls_run_with(const char *database, const char *line, const char *input);
/* Fails where the text does not contain what is expected. */
void calls_say(const char *text, const char *expected);

#endif
