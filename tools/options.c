/* SPDX-License-Identifier: MIT */
#include "options.h"

#include "commands.h"

#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DATABASE_DEFAULT "/var/lib/ramplog/ramplog.db"
#define SOCKET_DEFAULT "/run/ramplog/control.sock"

void options_set_up(void)
{
	argp_program_version = "ramplog " RAMPLOG_VERSION;
	argp_err_exit_status = EXIT_CANNOT;
}

static const char *from_environment(const char *variable, const char *fallback)
{
	const char *value = getenv(variable);
	return value && value[0] ? value : fallback;
}

static error_t parse_database(int key, char *typed, struct argp_state *state)
{
	const char **path = state->input;
	if (key == ARGP_KEY_INIT)
		*path = from_environment("RAMPLOG_DATABASE", DATABASE_DEFAULT);
	else if (key == 'd')
		*path = typed;
	else
		return ARGP_ERR_UNKNOWN;
	return 0;
}

static error_t parse_socket(int key, char *typed, struct argp_state *state)
{
	const char **path = state->input;
	if (key == ARGP_KEY_INIT)
		*path = from_environment("RAMPLOG_SOCKET", SOCKET_DEFAULT);
	else if (key == 's')
		*path = typed;
	else
		return ARGP_ERR_UNKNOWN;
	return 0;
}

static error_t parse_json(int key, char *typed, struct argp_state *state)
{
	bool *json = state->input;
	(void)typed;
	if (key != 'j')
		return ARGP_ERR_UNKNOWN;
	*json = true;
	return 0;
}

static const struct argp_option database_options[] = {
	{"database", 'd', "PATH", 0,
		"the database (else $RAMPLOG_DATABASE, else " DATABASE_DEFAULT ")", 1},
	{0}};
static const struct argp_option socket_options[] = {
	{"socket", 's', "PATH", 0,
		"the daemon's control socket (else $RAMPLOG_SOCKET, else " SOCKET_DEFAULT ")", 1},
	{0}};
static const struct argp_option json_options[] = {
	{"json", 'j', NULL, 0, "write JSON, with units in the names", 1}, {0}};

const struct argp options_database = {.options = database_options, .parser = parse_database};
const struct argp options_socket = {.options = socket_options, .parser = parse_socket};
const struct argp options_json = {.options = json_options, .parser = parse_json};

void options_name(
	struct argp_state *state, const char *what, const char *typed, char *name, size_t size)
{
	size_t length = strlen(typed);
	if (length == 0 || length >= size)
		argp_error(state, "%s must have 1 to %zu bytes, '%s' has %zu", what, size - 1,
			typed, length);
	memcpy(name, typed, length + 1);
}

void options_press(struct argp_state *state, const char *typed, char *press, size_t size)
{
	if (press[0])
		argp_error(state, "one press at a time; '%s' is one too many", typed);
	options_name(state, "a press name", typed, press, size);
}

struct utc_time options_time(struct argp_state *state, const char *option, const char *typed)
{
	struct utc_time time = {0};
	if (!clocks_utc_parse(typed, &time))
		argp_error(state, "%s '%s' is no ISO 8601 time", option, typed);
	return time;
}

int64_t options_number(struct argp_state *state, const char *what, const char *typed)
{
	char *end;
	errno = 0;
	intmax_t number = strtoimax(typed, &end, 10);
	if (errno || end == typed || *end || number < 1 || number > INT64_MAX)
		argp_error(state, "%s must be a whole number from 1 on, not '%s'", what, typed);
	return number;
}
