/* SPDX-License-Identifier: MIT
 *
 * The files of reports: made in memory, so that they can be hashed before anybody has them; made
 * again; told from others. Functions that fail have said so and give the exit code.
 */
#ifndef TOOLS_REPORT_ISSUED_H
#define TOOLS_REPORT_ISSUED_H

#include "report_load.h"

struct report_file {
	char *bytes; /* owned */
	size_t count;
};

/* "pdf" and so on, for the record. */
void report_format_text(enum sheet_format format, char text[ISSUED_FORMAT_SIZE]);

/* row: what is said on it beside the record; number 0: a draft. report_file_finish in every case.
 */
int report_file_make(const char *command, const struct report_runs *loaded,
	const struct issued_row *row, enum sheet_format format, struct report_file *file);
/* An issued report, in any format, provided that in its own it comes out as it was. */
int report_file_again(const char *command, struct store *store, int64_t number,
	enum sheet_format format, struct report_file *file);
void report_file_finish(struct report_file *file);

/* Prints whether the file is an issued report, and whether that holds: then EXIT_DONE. */
int report_check(const char *command, struct store *store, const char *path);
int report_list(const char *command, struct store *store);

#endif
