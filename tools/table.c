/* SPDX-License-Identifier: MIT */
#include "table.h"

#include <assert.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>
#include <wchar.h>

enum { COLUMNS_DEFAULT = 80, BETWEEN = 2, WRAPPED_LEAST = 8, CELL_LINE_SIZE = 256 };

/* Of the columns: what each takes, and the blanks between two. */
struct layout {
	size_t widths[TABLE_COLUMNS_MAX];
	size_t between;
};

void table_init(struct table *table, const char *columns)
{
	*table = (struct table){.column_count = strlen(columns)};
	assert(table->column_count > 0 && table->column_count <= TABLE_COLUMNS_MAX);
	for (size_t i = 0; columns[i]; i++)
		table->right |= (unsigned)(columns[i] == 'r') << i,
			table->wraps |= (unsigned)(columns[i] == 'w') << i;
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

/* The bytes of the text's next line in a column of this width: up to the last blank that leaves no
 * more, or as many characters as fit. *skip: these and the blanks behind them. */
static size_t line_bytes(const char *text, size_t width, size_t *skip)
{
	size_t cut = 0, bytes = 0, used = 0;
	while (text[bytes] && used < width) {
		do
			bytes++;
		while (((unsigned char)text[bytes] & 0xc0) == 0x80);
		used++;
		if (text[bytes] == ' ')
			cut = bytes;
	}
	if (text[bytes] && cut > 0)
		bytes = cut;
	*skip = bytes + strspn(text + bytes, " ");
	return bytes;
}

/* Puts the next line of the cell and moves the text behind it. *blanks: that are due before. */
static void put_cell(const char **text, size_t width, bool right, size_t *blanks, FILE *out)
{
	char line[CELL_LINE_SIZE];
	size_t skip = strlen(*text), bytes = skip;
	if (text_width(*text) > width)
		bytes = line_bytes(*text, width, &skip);
	snprintf(line, sizeof line, "%.*s", (int)bytes, *text);
	size_t used = bytes < sizeof line ? text_width(line) : bytes;
	size_t pad = width > used ? width - used : 0;
	if (bytes > 0) {
		fprintf(out, "%*s", (int)(*blanks + (right ? pad : 0)), "");
		fwrite(*text, 1, bytes, out);
		*blanks = right ? 0 : pad;
	} else {
		*blanks += width;
	}
	*text += skip;
}

static void put_row(
	const struct table *table, char *const *cells, const struct layout *layout, FILE *out)
{
	const char *texts[TABLE_COLUMNS_MAX];
	bool more = true;
	for (size_t i = 0; i < table->column_count; i++)
		texts[i] = cells[i];
	while (more) {
		size_t blanks = 0;
		more = false;
		for (size_t i = 0; i < table->column_count; i++) {
			put_cell(&texts[i], layout->widths[i], table->right >> i & 1, &blanks, out);
			blanks += layout->between;
			more = more || *texts[i];
		}
		fputc('\n', out);
	}
}

/* Where the table is too wide, one blank between columns has to do; then the widest of the columns
 * that may give what is still too much, and so on with the next. */
static void fit(const struct table *table, size_t columns, struct layout *layout)
{
	size_t *widths = layout->widths, all = layout->between * (table->column_count - 1);
	for (size_t i = 0; i < table->column_count; i++)
		all += widths[i];
	if (all > columns) {
		all -= table->column_count - 1;
		layout->between = 1;
	}
	while (all > columns) {
		size_t widest = TABLE_COLUMNS_MAX;
		for (size_t i = 0; i < table->column_count; i++) {
			if ((table->wraps >> i & 1) && widths[i] > WRAPPED_LEAST &&
				(widest == TABLE_COLUMNS_MAX || widths[i] > widths[widest]))
				widest = i;
		}
		if (widest == TABLE_COLUMNS_MAX)
			return;
		widths[widest]--;
		all--;
	}
}

void table_print_within(const struct table *table, size_t columns, FILE *out)
{
	struct layout layout = {{0}, BETWEEN};
	size_t count = table->column_count;
	for (size_t i = 0; i < table->count; i++) {
		size_t width = text_width(table->cells[i]);
		if (width > layout.widths[i % count])
			layout.widths[i % count] = width;
	}
	fit(table, columns, &layout);
	for (size_t i = 0; i + count <= table->count; i += count)
		put_row(table, table->cells + i, &layout, out);
}

void table_print(const struct table *table, FILE *out)
{
	table_print_within(table, isatty(fileno(out)) ? table_columns() : SIZE_MAX, out);
}

size_t table_columns(void)
{
	struct winsize size;
	if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0)
		return size.ws_col;
	return COLUMNS_DEFAULT;
}
