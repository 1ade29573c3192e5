/* SPDX-License-Identifier: MIT
 *
 * ramplogd: the command line. Exit 0: ended cleanly, or the configuration is right; 2: it could not
 * start, or the configuration is wrong.
 */
#include "config.h"
#include "daemon.h"
#include "due.h"
#include "log.h"

#include <argp.h>
#include <malloc.h>
#include <stdio.h>
#include <stdlib.h>

/* Larger blocks come from the kernel, as pages that take no memory until they are touched: what a
 * press holds for the worst case is mostly never used. The heap grows in steps that leave no room
 * for such a block. And one heap for both threads: the writer
 * goes on with what opening the database has left behind. */
enum { OWN_PAGES_FROM = 32 * 1024, HEAP_STEP = 16 * 1024 };

enum { EXIT_COULD_NOT = 2, KEY_CONFIG = 'c', KEY_CHECK = 'n', KEY_KEYS = 'k' };

struct arguments {
	const char *config;
	bool check;
	bool keys;
};

const char *argp_program_version = "ramplogd " RAMPLOG_VERSION;

static const struct argp_option OPTIONS[] = {
	{"config", KEY_CONFIG, "FILE", 0, "the configuration to run by", 0},
	{"check", KEY_CHECK, NULL, 0,
		"read the configuration, print what is in force, what is due and every error, and "
		"end",
		0},
	{"keys", KEY_KEYS, NULL, 0, "print the table of configuration keys, and end", 0},
	{0},
};

static error_t parse_option(int key, char *argument, struct argp_state *state)
{
	struct arguments *arguments = state->input;

	switch (key) {
	case KEY_CONFIG:
		arguments->config = argument;
		return 0;
	case KEY_CHECK:
		arguments->check = true;
		return 0;
	case KEY_KEYS:
		arguments->keys = true;
		return 0;
	case ARGP_KEY_END:
		if (!arguments->config && !arguments->keys)
			argp_error(state, "--config FILE is needed");
		return 0;
	default:
		return ARGP_ERR_UNKNOWN;
	}
}

static void complain(void *context, const char *text)
{
	(void)context;
	fprintf(stderr, "ramplogd: %s\n", text);
}

static int check(const char *path)
{
	struct config *partial = NULL;
	struct config *config = config_load(path, complain, NULL, &partial);
	bool ok = config != NULL;

	if (config || partial)
		config_write(config ? config : partial, stdout);
	if (config)
		due_write(config, stdout);
	config_destroy(config);
	config_destroy(partial);
	return ok ? EXIT_SUCCESS : EXIT_COULD_NOT;
}

static int serve(const char *path)
{
	static struct daemon daemon;
	struct message why = {""};
	struct config *config = config_load(path, complain, NULL, NULL);

	if (!config)
		return EXIT_COULD_NOT;
	log_init(config->log_level);
	mallopt(M_MMAP_THRESHOLD, OWN_PAGES_FROM);
	mallopt(M_TOP_PAD, HEAP_STEP);
	mallopt(M_ARENA_MAX, 1);
	bool ok = daemon_init(&daemon, config, &why);
	malloc_trim(0); /* what coming up needed and going on does not */
	if (ok)
		daemon_run(&daemon);
	else
		log_line(LOG_ERROR, "%s", why.text);
	daemon_finish(&daemon);
	config_destroy(config);
	return ok ? EXIT_SUCCESS : EXIT_COULD_NOT;
}

int main(int argc, char **argv)
{
	static const struct argp ARGP = {.options = OPTIONS,
		.parser = parse_option,
		.doc = "Listens to the load cells of concrete-testing presses, judges the loading"
		       " rate of every run and keeps every reading in a database. It only listens:"
		       " nothing it says means that it is safe to reach into a press."};
	struct arguments arguments = {.config = NULL};

	argp_err_exit_status = EXIT_COULD_NOT;
	argp_parse(&ARGP, argc, argv, 0, NULL, &arguments);
	if (arguments.keys) {
		config_keys_write(stdout);
		return EXIT_SUCCESS;
	}
	return arguments.check ? check(arguments.config) : serve(arguments.config);
}
