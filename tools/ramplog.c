/* SPDX-License-Identifier: MIT
 *
 * `ramplog`: finds the sub-command, and sees to it that output which did not reach its file is an
 * error.
 */
#include "commands.h"
#include "options.h"
#include "store/method_folder.h"

#include <argp.h>
#include <errno.h>
#include <locale.h>
#include <stdio.h>
#include <string.h>

static void put_usage(FILE *out)
{
	fputs("Usage: ramplog COMMAND [OPTION...]\n\n"
	      "Looks into what ramplogd recorded of a concrete-testing press.\n\n",
		out);
	for (const struct command *command = commands_table(); command->name; command++)
		fprintf(out, "  %-10s %s\n", command->name, command->summary);
	fputs("\n`ramplog COMMAND --help` explains a command; `ramplog --version` names the "
	      "version.\n"
	      "Exit codes: 0 done; 1 the answer is no; 2 the command could not be carried out.\n",
		out);
}

static void complain(void *context, const char *text)
{
	(void)context;
	fprintf(stderr, "%s\n", text);
}

static int run_command(int argc, char **argv)
{
	const char *name = argv[1];
	if (strcmp(name, "--help") == 0 || strcmp(name, "-?") == 0) {
		put_usage(stdout);
		return EXIT_DONE;
	}
	if (strcmp(name, "--version") == 0 || strcmp(name, "-V") == 0) {
		puts(argp_program_version);
		return EXIT_DONE;
	}
	const struct command *command = commands_find(name);
	if (!command) {
		fprintf(stderr, "ramplog: there is no command '%s'; see `ramplog --help`\n", name);
		return EXIT_CANNOT;
	}
	/* `methods` tells of every error itself. */
	if (command->run != methods_main)
		method_folder_load(commands_method_folder(), complain, NULL);
	/* argp takes argv[0] as the name in front of its messages. */
	char full_name[64];
	snprintf(full_name, sizeof(full_name), "ramplog %s", command->name);
	argv[1] = full_name;
	return command->run(argc - 1, argv + 1);
}

int main(int argc, char **argv)
{
	setlocale(LC_ALL, "");
	/* Numbers are written with a point everywhere: files and other programs read them. */
	setlocale(LC_NUMERIC, "C");
	options_set_up();
	if (argc < 2) {
		put_usage(stderr);
		return EXIT_CANNOT;
	}
	int code = run_command(argc, argv);
	if (fflush(stdout) != 0 || ferror(stdout)) {
		fprintf(stderr, "ramplog: the output could not be written: %s\n", strerror(errno));
		return EXIT_CANNOT;
	}
	return code;
}
