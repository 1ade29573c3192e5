/* SPDX-License-Identifier: MIT
 *
 * What tests of reports share: making them, and reading what stands in them. What is read is to be
 * freed.
 */
#ifndef TESTS_UNIT_TOOLS_PAPER_H
#define TESTS_UNIT_TOOLS_PAPER_H

#include <stddef.h>

enum { PAPER_PATH_SIZE = 200 };

/* Two companions of set-p; the second one was loaded much too fast, and has no fracture type. */
void paper_runs(const char *database);
/* A file of that name beside the database; holds until the next one is asked for. */
const char *paper_beside(const char *database, const char *name);
/* Runs the command line with -o and that file; gives the exit code. */
int paper_make(const char *database, const char *name, const char *line);
/* The same; and it must be made. */
void paper_done(const char *database, const char *name, const char *line);
/* The whole file, ended by a NUL, and its length, for which NULL is fine. */
char *paper_read(const char *database, const char *name, size_t *count);
/* What the command prints. */
char *paper_printed(const char *command);
/* Makes it as text and reads it. */
char *paper_text(const char *database, const char *line);
/* Both files have the same bytes. */
void paper_same(const char *database, const char *first, const char *second);
/* The report on a set says what is wanted, and not what is not (NULL: whatever else). */
void paper_says(const char *database, const char *set, const char *wanted, const char *unwanted);

#endif
