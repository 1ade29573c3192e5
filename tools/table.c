/* SPDX-License-Identifier: MIT */
#include "table.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>
#include <wchar.h>

enum { COLUMNS_DEFAULT = 80 };

void table_init(struct table *table, const char *columns)
{
	*table = (struct table){.column_count = strlen(columns)};
	assert(table->column_count > 0 && table->column_count <= TABLE_COLUMNS_MAX);
	for (size_t i = 0; columns[i]; i++)
		table->right |= (unsigned)(columns[i] == 'r') << i;
}

void table_finish(struct table *table)
{
	for (size_t i = 0; i < table->count; i++)
		free(table->cells[i]);
	free(table->cells);
}

bool table_add(struct table *table, const char *text)
{
	if (table->count == table->capacity) {
		size_t capacity = table->capacity ? table->capacity * 2 : 64;
		char **cells = realloc(table->cells, capacity * sizeof(*cells));
		if (!cells)
			return false;
		table->cells = cells;
		table->capacity = capacity;
	}
	char *copy = strdup(text);
	if (!copy)
		return false;
	table->cells[table->count++] = copy;
	return true;
}

/* Columns that the text takes on the terminal; its bytes where it is no text of this locale. */
static size_t text_width(const char *text)
{
	wchar_t wide[256];
	size_t length = mbstowcs(wide, text, sizeof(wide) / sizeof(*wide));
	int width = length < sizeof(wide) / sizeof(*wide) ? wcswidth(wide, length) : -1;
	return width >= 0 ? (size_t)width : strlen(text);
}

static void put_cell(
	const struct table *table, const char *text, size_t column, size_t width, FILE *out)
{
	int pad = (int)(width - text_width(text));
	bool right = table->right >> column & 1, last = column + 1 == table->column_count;
	if (right)
		fprintf(out, "%*s%s", pad, "", text);
	else
		fprintf(out, "%s%*s", text, last ? 0 : pad, "");
	fputs(last ? "\n" : "  ", out);
}

void table_print(const struct table *table, FILE *out)
{
	size_t widths[TABLE_COLUMNS_MAX] = {0}, columns = table->column_count;
	for (size_t i = 0; i < table->count; i++) {
		size_t width = text_width(table->cells[i]);
		if (width > widths[i % columns])
			widths[i % columns] = width;
	}
	for (size_t i = 0; i < table->count - table->count % columns; i++)
		put_cell(table, table->cells[i], i % columns, widths[i % columns], out);
}

size_t table_columns(void)
{
	struct winsize size;
	if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0)
		return size.ws_col;
	return COLUMNS_DEFAULT;
}
