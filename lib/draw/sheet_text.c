/* SPDX-License-Identifier: MIT
 *
 * A sheet as plain text, for a mail or a terminal: lines of 78 columns. A table that is wider
 * stands on its side: its columns become lines. Pictures and QR codes are left out; what they show
 * is in the words.
 */
#include "draw/sheet.h"

#include <assert.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { WIDTH = 78, NAME_WIDTH = 18, COLUMNS_MAX = 16 };

struct plain {
	page_take *take;
	void *context;
	bool failed; /* sticky */
};

static void put_bytes(struct plain *plain, const char *bytes, size_t count)
{
	plain->failed = plain->failed || (count > 0 && !plain->take(plain->context, bytes, count));
}

static void put(struct plain *plain, const char *text)
{
	put_bytes(plain, text, strlen(text));
}

static void put_blanks(struct plain *plain, size_t count)
{
	for (size_t i = 0; i < count; i++)
		put(plain, " ");
}

/* Characters, not bytes; close enough to columns for what is in a report. */
static size_t width_of(const char *text, size_t bytes)
{
	size_t width = 0;
	for (size_t i = 0; i < bytes; i++)
		width += ((unsigned char)text[i] & 0xc0) != 0x80;
	return width;
}

/* Words, broken before the margin; lines after the first are indented. */
static void put_words(struct plain *plain, const char *text, size_t column, size_t indent)
{
	bool first = true;
	while (*text) {
		size_t bytes = strcspn(text, " "), width = width_of(text, bytes);
		if (!first && column + 1 + width > WIDTH) {
			put(plain, "\n");
			put_blanks(plain, indent);
			column = indent;
		} else if (!first) {
			put(plain, " ");
			column++;
		}
		put_bytes(plain, text, bytes);
		column += width;
		text += bytes;
		text += strspn(text, " ");
		first = false;
	}
	put(plain, "\n");
}

static void put_named(struct plain *plain, const struct sheet_item *item)
{
	size_t width = width_of(item->name, strlen(item->name));
	put(plain, item->name);
	size_t blanks = width < NAME_WIDTH ? NAME_WIDTH - width : 1;
	put_blanks(plain, blanks);
	put_words(plain, item->value, width + blanks, NAME_WIDTH);
}

static size_t cell_width(const struct sheet_item *table, size_t cell)
{
	return cell < table->cell_count ? width_of(table->cells[cell], strlen(table->cells[cell]))
					: 0;
}

/* One line a column: its head, then the cells of as many rows as fit. */
static void put_on_its_side(struct plain *plain, const struct sheet_item *table, size_t columns)
{
	size_t rows = table->cell_count / columns;
	for (size_t row = 1, next; row < rows; row = next) {
		size_t widths[COLUMNS_MAX] = {0}, sum = NAME_WIDTH;
		for (next = row; next < rows && next - row < COLUMNS_MAX; next++) {
			size_t width = 0;
			for (size_t i = 0; i < columns; i++) {
				size_t cell = cell_width(table, next * columns + i);
				width = cell > width ? cell : width;
			}
			if (next > row && sum + width + 2 > WIDTH)
				break;
			widths[next - row] = width;
			sum += width + (next > row ? 2 : 0);
		}
		put(plain, row > 1 ? "\n" : "");
		for (size_t i = 0; i < columns; i++) {
			size_t head = cell_width(table, i);
			put(plain, table->cells[i]);
			put_blanks(plain, head < NAME_WIDTH ? NAME_WIDTH - head : 1);
			if (next == row + 1) {
				put_words(plain, table->cells[row * columns + i], NAME_WIDTH,
					NAME_WIDTH);
				continue;
			}
			for (size_t j = row; j < next; j++) {
				size_t cell = j * columns + i;
				put_blanks(plain, widths[j - row] - cell_width(table, cell));
				put(plain, table->cells[cell]);
				put(plain, j + 1 < next ? "  " : "\n");
			}
		}
	}
}

static void put_table(struct plain *plain, const struct sheet_item *table)
{
	size_t columns = strlen(table->columns), widths[COLUMNS_MAX] = {0}, sum = 0;
	assert(columns > 0 && columns <= COLUMNS_MAX);
	for (size_t i = 0; i < table->cell_count; i++) {
		size_t width = cell_width(table, i);
		if (width > widths[i % columns])
			widths[i % columns] = width;
	}
	for (size_t i = 0; i < columns; i++)
		sum += widths[i] + (i > 0 ? 2 : 0);
	if (sum > WIDTH) {
		put_on_its_side(plain, table, columns);
		return;
	}
	for (size_t i = 0; i < table->cell_count; i++) {
		size_t column = i % columns;
		size_t pad = widths[column] - width_of(table->cells[i], strlen(table->cells[i]));
		bool right = table->columns[column] == 'r', last = column == columns - 1;
		put_blanks(plain, right ? pad : 0);
		put(plain, table->cells[i]);
		put_blanks(plain, right || last ? 0 : pad);
		put(plain, last ? "\n" : "  ");
	}
}

static void put_item(struct plain *plain, const struct sheet_item *item, bool before_picture)
{
	switch (item->kind) {
	case SHEET_HEADING:
		if (before_picture)
			break;
		put(plain, "\n");
		put(plain, item->value);
		put(plain, "\n\n");
		break;
	case SHEET_FIELD:
		put_named(plain, item);
		break;
	case SHEET_CODE: /* never broken: below its name */
		put(plain, item->name);
		put(plain, "\n    ");
		put(plain, item->value);
		put(plain, "\n");
		break;
	case SHEET_TABLE:
		put_table(plain, item);
		break;
	case SHEET_FIGURE:
		put(plain, item->name);
		put(plain, "  ");
		size_t figure = width_of(item->name, strlen(item->name)) + 2;
		put_words(plain, item->value, figure, figure);
		put(plain, "\n");
		break;
	case SHEET_TEXT:
	case SHEET_SMALL:
		put_words(plain, item->value, 0, 0);
		break;
	case SHEET_ALERT:
		put(plain, "! ");
		put_words(plain, item->value, 2, 2);
		break;
	case SHEET_QR:
	case SHEET_PICTURE:
		break;
	}
}

bool sheet_write_text(const struct sheet *sheet, page_take *take, void *context)
{
	struct plain plain = {take, context, false};
	put_words(&plain, sheet->title, 0, 0);
	if (sheet->mark)
		put_words(&plain, sheet->mark, 0, 0);
	put(&plain, "\n");
	for (size_t i = 0; i < sheet->count; i++)
		put_item(&plain, &sheet->items[i],
			i + 1 < sheet->count && sheet->items[i + 1].kind == SHEET_PICTURE);
	put(&plain, "\n");
	put_words(&plain, sheet->foot, 0, 0);
	return !plain.failed;
}
