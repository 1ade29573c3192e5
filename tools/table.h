/* SPDX-License-Identifier: MIT
 *
 * A table of texts for the terminal: columns as wide as their widest text. Rows are kept until the
 * table is printed.
 */
#ifndef TOOLS_TABLE_H
#define TOOLS_TABLE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

enum { TABLE_COLUMNS_MAX = 12 };

struct table {
	size_t column_count;
	unsigned right; /* bit i: column i is flush right */
	unsigned wraps; /* bit i: ... is wrapped where the table is too wide */
	char **cells;   /* owned, row by row */
	size_t count, capacity;
};

/* columns: e.g. "lwr", one letter a column, which gives their number too: flush left, the same and
 * wrapped within itself where the table is wider than the terminal, flush right. */
void table_init(struct table *table, const char *columns);
void table_finish(struct table *table);

/* Copies the text into the next cell. False when memory is short. */
bool table_add(struct table *table, const char *text);
/* Prints full rows, without blanks at their ends. On a terminal in its columns; else a row is one
 * line however long it gets, for the programs that read it. */
void table_print(const struct table *table, FILE *out);
void table_print_within(const struct table *table, size_t columns, FILE *out);

/* Of the terminal on standard output; 80 where it is none. */
size_t table_columns(void);

#endif
