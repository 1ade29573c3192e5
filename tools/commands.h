/* SPDX-License-Identifier: MIT
 *
 * The sub-commands of `ramplog`: one file each, one row each in the table of commands.c.
 */
#ifndef TOOLS_COMMANDS_H
#define TOOLS_COMMANDS_H

/* The exit codes of every sub-command. */
enum {
	EXIT_DONE = 0,
	EXIT_NO = 1,     /* the answer is no: nothing matched, a difference was found */
	EXIT_CANNOT = 2, /* the command could not be carried out; stderr says why */
};

struct command {
	const char *name;
	const char *summary; /* for `ramplog --help` */
	/* argv[0] is "ramplog NAME"; returns an exit code. */
	int (*run)(int argc, char **argv);
};

/* Sorted by name, ended by an entry with a NULL name. Static. */
const struct command *commands_table(void);
const struct command *commands_find(const char *name); /* NULL if there is none */

/* Where the laboratory's own methods lie: $RAMPLOG_METHODS, else /etc/ramplog/methods. */
const char *commands_method_folder(void);

int assess_main(int argc, char **argv);
int audit_main(int argc, char **argv);
int care_main(int argc, char **argv);
int backup_main(int argc, char **argv);
int correct_main(int argc, char **argv);
int due_main(int argc, char **argv);
int export_main(int argc, char **argv);
int fracture_main(int argc, char **argv);
int label_main(int argc, char **argv);
int methods_main(int argc, char **argv);
int monitor_main(int argc, char **argv);
int register_main(int argc, char **argv);
int report_main(int argc, char **argv);
int runs_main(int argc, char **argv);
int seat_main(int argc, char **argv);
int set_main(int argc, char **argv);
int show_main(int argc, char **argv);
int trend_main(int argc, char **argv);
int verification_main(int argc, char **argv);
int zero_main(int argc, char **argv);

#endif
