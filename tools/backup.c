/* SPDX-License-Identifier: MIT
 *
 * `ramplog backup`: a copy of the database, made while the daemon runs, verified after writing.
 */
#include "store/backup.h"
#include "commands.h"
#include "options.h"
#include "stored.h"

#include <inttypes.h>
#include <signal.h>
#include <unistd.h>

struct backup {
	const char *command;
	const char *database;
	const char *path;
	bool progress;  /* stderr is a terminal */
	bool verifying; /* what was copied is read back */
};

static volatile sig_atomic_t interrupted;

static void on_interrupt(int number)
{
	(void)number;
	interrupted = 1;
}

static error_t parse(int key, char *typed, struct argp_state *state)
{
	struct backup *backup = state->input;
	switch (key) {
	case ARGP_KEY_INIT:
		state->child_inputs[0] = &backup->database;
		return 0;
	case ARGP_KEY_ARG:
		if (backup->path)
			argp_error(state, "one FILE; '%s' is one too many", typed);
		backup->path = typed;
		return 0;
	case ARGP_KEY_END:
		if (!backup->path)
			argp_error(state, "into which FILE?");
		return 0;
	default:
		return ARGP_ERR_UNKNOWN;
	}
}

static bool show_progress(void *context, size_t done, size_t total)
{
	struct backup *backup = context;
	/* The pages are looked at before the seals, and nobody knows how many are left. */
	backup->verifying = backup->verifying || total == 0;
	const char *doing = backup->verifying ? "verifying" : "copying";
	if (backup->progress && total > 0)
		fprintf(stderr, "\r%s, %zu %%\033[K", doing, done * 100 / total);
	else if (backup->progress)
		fprintf(stderr, "\r%s\033[K", doing);
	return !interrupted;
}

static int backup_store(struct backup *backup, struct store *store)
{
	struct backup_hooks hooks = {show_progress, backup};
	struct sigaction action = {.sa_handler = on_interrupt};
	struct message why;
	int64_t run_count = 0;
	backup->progress = isatty(STDERR_FILENO);
	sigaction(SIGINT, &action, NULL);
	sigaction(SIGTERM, &action, NULL);
	enum store_status status = backup_write(store, backup->path, &hooks, &run_count, &why);
	if (backup->progress)
		fputs("\r\033[K", stderr);
	if (status == STORE_OK) {
		printf("%s: %" PRId64 " sealed run%s, verified\n", backup->path, run_count,
			run_count == 1 ? "" : "s");
		return EXIT_DONE;
	}
	fprintf(stderr, "%s: %s\n", backup->command,
		status == STORE_NONE ? "interrupted: no copy was made, an earlier one is as it was"
				     : why.text);
	return status == STORE_CORRUPT ? EXIT_NO : EXIT_CANNOT;
}

int backup_main(int argc, char **argv)
{
	const struct argp_child children[] = {{&options_database, 0, NULL, 0}, {0}};
	const struct argp argp = {NULL, parse, "FILE",
		"Copies the database into FILE while the daemon goes on, and reads the copy back: "
		"every page, every seal. FILE is replaced only when that was done. The key that "
		"signs is not in it.",
		children, NULL, NULL};
	struct backup backup = {.command = argv[0]};
	struct store *store;
	argp_parse(&argp, argc, argv, 0, NULL, &backup);
	int code = stored_open(backup.command, backup.database, &store);
	if (code != EXIT_DONE)
		return code;
	code = backup_store(&backup, store);
	store_close(store);
	return code;
}
