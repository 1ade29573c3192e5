/* SPDX-License-Identifier: MIT */
#include "calls.h"

#include "../check.h"
#include "commands.h"
#include "options.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

enum { ARGUMENTS_MAX = 40, LINE_SIZE = 1000 };

char calls_out[CALLS_OUTPUT_SIZE], calls_err[CALLS_ERRORS_SIZE];

static void read_back(FILE *file, char *text, size_t size)
{
	rewind(file);
	text[fread(text, 1, size - 1, file)] = '\0';
	fclose(file);
}

static void be_command(char **words, int count, FILE *in_file, FILE *out_file, FILE *err_file)
{
	char name[40];
	dup2(fileno(in_file), STDIN_FILENO);
	dup2(fileno(out_file), STDOUT_FILENO);
	dup2(fileno(err_file), STDERR_FILENO);
	options_set_up();
	const struct command *command = commands_find(words[0]);
	snprintf(name, sizeof(name), "ramplog %s", words[0]);
	words[0] = name;
	int code = command->run(count, words);
	fflush(NULL);
	_exit(code);
}

int calls_run(const char *database, const char *line)
{
	return calls_run_with(database, line, "");
}

void calls_done(const char *database, const char *line)
{
	int code = calls_run(database, line);
	if (code != EXIT_DONE)
		fail_msg("'%s' gives %d: %s", line, code, calls_err);
}

void calls_refused(const char *database, const char *line, const char *why)
{
	int code = calls_run(database, line);
	if (code != EXIT_CANNOT || !strstr(calls_err, why))
		fail_msg("'%s' gives %d and not '%s': %s", line, code, why, calls_err);
}

int calls_run_with(const char *database, const char *line, const char *input)
{
	char copy[LINE_SIZE], *rest = copy, *words[ARGUMENTS_MAX + 1] = {NULL};
	int count = 0, status;
	setenv("RAMPLOG_DATABASE", database, 1);
	setenv("RAMPLOG_SOCKET", "/nonexistent/control.sock", 1);
	snprintf(copy, sizeof(copy), "%s", line);
	while (count < ARGUMENTS_MAX && rest)
		words[count++] = strsep(&rest, " ");
	FILE *in_file = tmpfile(), *out_file = tmpfile(), *err_file = tmpfile();
	assert_true(in_file && out_file && err_file && !rest);
	fputs(input, in_file);
	rewind(in_file);
	fflush(NULL);
	pid_t child = fork();
	if (child == 0)
		be_command(words, count, in_file, out_file, err_file);
	assert_int_equal(waitpid(child, &status, 0), child);
	assert_true(WIFEXITED(status));
	fclose(in_file);
	read_back(out_file, calls_out, sizeof(calls_out));
	read_back(err_file, calls_err, sizeof(calls_err));
	return WEXITSTATUS(status);
}

void calls_say(const char *text, const char *expected)
{
	if (!strstr(text, expected))
		fail_msg("'%s' does not say '%s'", text, expected);
}
