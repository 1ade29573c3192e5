/* SPDX-License-Identifier: MIT
 *
 * Tables on a page: as wide as what is in them, and no wider than the page; what is too long for
 * its column then goes on below.
 */
#include "draw/sheet_layout.h"

#include <assert.h>
#include <math.h>
#include <string.h>

enum { SHEET_COLUMNS_MAX = 16 };

/* Points. */
static const double cell_gap = 8, share_most = 14, column_least = 40;
static const double rule = 0.5;

struct columns {
	const struct sheet_item *table;
	size_t count;
	double widths[SHEET_COLUMNS_MAX]; /* without the gap */
	double gap;
};

static double sum_of(const struct columns *columns)
{
	double sum = 0;
	for (size_t i = 0; i < columns->count; i++)
		sum += columns->widths[i] + columns->gap;
	return sum - columns->gap;
}

/* The widest column gives way until all of them fit. */
static void narrow(struct columns *columns, double width)
{
	for (double over; (over = sum_of(columns) - width) > 0;) {
		size_t widest = 0;
		double second = column_least;
		for (size_t i = 0; i < columns->count; i++)
			widest = columns->widths[i] > columns->widths[widest] ? i : widest;
		for (size_t i = 0; i < columns->count; i++)
			second = i != widest ? fmax(second, columns->widths[i]) : second;
		double *given = &columns->widths[widest];
		if (*given <= column_least)
			return;
		*given = fmax(fmax(*given - over, column_least), fmin(second, *given - 1));
	}
}

static void measure(const struct layout *layout, struct columns *columns)
{
	const struct sheet_item *table = columns->table;
	for (size_t i = 0; i < table->cell_count; i++) {
		enum page_type type = i < columns->count ? PAGE_SMALL : PAGE_BODY;
		double *width = &columns->widths[i % columns->count];
		*width = fmax(*width, page_text_width(layout->page, type, table->cells[i]));
	}
	double left = layout->width - sum_of(columns);
	if (left < 0)
		narrow(columns, layout->width);
	else if (columns->count > 1)
		columns->gap += fmin(left / (double)(columns->count - 1), share_most);
}

static bool is_right(const struct columns *columns, size_t column)
{
	return columns->table->columns[column] == 'r';
}

static double row_height(const struct layout *layout, const struct columns *columns, size_t first)
{
	double height = page_leading(PAGE_BODY);
	enum page_type type = first == 0 ? PAGE_SMALL : PAGE_BODY;
	for (size_t i = 0; i < columns->count && first + i < columns->table->cell_count; i++)
		height = fmax(height, layout_height(layout, type, columns->widths[i] + 0.5,
					      columns->table->cells[first + i]));
	return height;
}

static void put_cell(struct layout *layout, const struct columns *columns, size_t column,
	size_t cell, double x, double y)
{
	bool head = cell < columns->count;
	enum page_type type = head ? PAGE_SMALL : PAGE_BODY;
	enum page_ink ink = head ? PAGE_INK_QUIET : PAGE_INK_TEXT;
	const char *string = columns->table->cells[cell];
	double width = columns->widths[column];
	bool one_line = page_text_width(layout->page, type, string) <= width;
	if (one_line && is_right(columns, column))
		page_text(layout->page, type, ink, PAGE_RIGHT, x + width, y, string);
	else
		page_paragraph(layout->page, type, ink, x, y, width + 0.5, string);
}

static void put_row(struct layout *layout, const struct columns *columns, size_t first)
{
	double x = layout->left, height = row_height(layout, columns, first);
	double y = layout->y + page_leading(PAGE_BODY);
	for (size_t i = 0; i < columns->count && first + i < columns->table->cell_count; i++) {
		put_cell(layout, columns, i, first + i, x, y);
		x += columns->widths[i] + columns->gap;
	}
	layout->y += height;
	if (first > 0)
		return;
	layout->y += 4;
	page_rule(layout->page, PAGE_INK_GRID, rule, layout->left, layout->y,
		layout->left + layout->width, layout->y);
	layout->y -= 1;
}

void layout_put_table(struct layout *layout, const struct sheet_item *table)
{
	struct columns columns = {.table = table, .count = strlen(table->columns), .gap = cell_gap};
	assert(columns.count > 0 && columns.count <= SHEET_COLUMNS_MAX);
	measure(layout, &columns);
	for (size_t i = 0; i < table->cell_count; i += columns.count) {
		size_t page = layout->count;
		double height = row_height(layout, &columns, i);
		layout_need(layout, i == 0 ? 3 * height : height);
		if (layout->count > page && i > 0)
			put_row(layout, &columns, 0);
		put_row(layout, &columns, i);
	}
	layout->y += 5;
}
