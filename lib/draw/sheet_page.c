/* SPDX-License-Identifier: MIT
 *
 * A sheet as pages: from top to bottom, a new page where the next thing does not fit. Fields stand
 * in two columns, a table takes the whole width, pictures share what is left of the page; codes
 * stand beside their QR code.
 */
#include "draw/page_qr.h"
#include "draw/sheet.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Points. */
static const double margin = 42, foot_height = 18;
static const double field_name = 72, column_gap = 14;
static const double cell_gap = 7;
static const double qr_size = 74;
static const double picture_least = 138, picture_most = 250, picture_gap = 12;
static const double rule = 0.5;

enum { SHEET_COLUMNS_MAX = 16, FOOT_SIZE = 400 };

struct layout {
	const struct sheet *sheet;
	struct page **pages;
	size_t count;
	struct page *page;
	double width; /* between the margins */
	double y, bottom;
	bool failed;
};

static void new_page(struct layout *layout)
{
	struct page **pages = realloc(layout->pages, (layout->count + 1) * sizeof(struct page *));
	if (pages)
		layout->pages = pages;
	struct page *page =
		layout->sheet->letter ? page_create(612, 792) : page_create(595.28, 841.89);
	if (!pages || !page) {
		page_destroy(page);
		layout->failed = true;
		return;
	}
	layout->pages[layout->count++] = layout->page = page;
	layout->width = page->width - 2 * margin;
	layout->y = margin;
	layout->bottom = page->height - margin - foot_height;
}

static void need(struct layout *layout, double height)
{
	if (layout->y + height > layout->bottom && layout->y > margin)
		new_page(layout);
}

/* Pictures have their names above them and need no heading on a page. */
static bool heads_pictures(const struct layout *layout, const struct sheet_item *item)
{
	size_t next = (size_t)(item - layout->sheet->items) + 1;
	return next < layout->sheet->count && layout->sheet->items[next].kind == SHEET_PICTURE;
}

/* ---- sentences */

static double height_of(
	const struct layout *layout, enum page_type type, double width, const char *string)
{
	size_t marks = layout->page->mark_count, text = layout->page->text_length;
	double height = page_paragraph(layout->page, type, PAGE_INK_TEXT, 0, 0, width, string);
	layout->page->mark_count = marks;
	layout->page->text_length = text;
	return height;
}

static void put_sentence(struct layout *layout, const struct sheet_item *item)
{
	bool alert = item->kind == SHEET_ALERT;
	enum page_type type = alert ? PAGE_STRONG : PAGE_BODY;
	double indent = alert ? 9 : 0, width = layout->width - indent;
	double height = height_of(layout, type, width, item->value);
	need(layout, height);
	double top = layout->y;
	layout->y = page_paragraph(layout->page, type, PAGE_INK_TEXT, margin + indent,
			    layout->y + page_leading(type) - 3, width, item->value) -
		    page_leading(type) + 4;
	if (alert)
		page_area(layout->page, PAGE_INK_ALERT,
			(struct page_box){margin, top + 0.5, 2.5, layout->y - top - 3.5});
}

static void put_heading(struct layout *layout, const struct sheet_item *item)
{
	if (heads_pictures(layout, item))
		return;
	need(layout, 60);
	layout->y += layout->y > margin ? 7 : 0;
	page_rule(layout->page, PAGE_INK_RULE, rule, margin, layout->y, margin + layout->width,
		layout->y);
	layout->y += page_leading(PAGE_HEADING);
	page_text(layout->page, PAGE_HEADING, PAGE_INK_TEXT, PAGE_LEFT, margin, layout->y,
		item->value);
	layout->y += 4;
}

/* ---- fields, in two columns */

static double put_field(
	struct layout *layout, const struct sheet_item *item, double x, double y, double width)
{
	page_text(layout->page, PAGE_SMALL, PAGE_INK_QUIET, PAGE_LEFT, x, y, item->name);
	return page_paragraph(layout->page, PAGE_BODY, PAGE_INK_TEXT, x + field_name, y,
		width - field_name, item->value);
}

static void put_fields(struct layout *layout, const struct sheet_item *items, size_t count)
{
	double width = (layout->width - column_gap) / 2;
	double heights[2] = {0, 0};
	size_t half = (count + 1) / 2;
	for (size_t i = 0; i < count; i++)
		heights[i >= half] +=
			height_of(layout, PAGE_BODY, width - field_name, items[i].value);
	need(layout, fmax(heights[0], heights[1]) + 4);
	double y[2] = {layout->y + page_leading(PAGE_BODY) - 2, 0};
	y[1] = y[0];
	for (size_t i = 0; i < count; i++) {
		size_t column = i >= half;
		y[column] = put_field(layout, &items[i],
			margin + (width + column_gap) * (double)column, y[column], width);
	}
	layout->y = fmax(y[0], y[1]) - page_leading(PAGE_BODY) + 5;
}

/* ---- tables */

/* How wide the columns are, with what is left over shared among them. */
static void measure_columns(
	const struct layout *layout, const struct sheet_item *table, size_t columns, double *widths)
{
	double sum = 0;
	assert(columns > 0);
	for (size_t i = 0; i < columns; i++)
		widths[i] = 0;
	for (size_t i = 0; i < table->cell_count; i++) {
		enum page_type type = i < columns ? PAGE_SMALL : PAGE_BODY;
		widths[i % columns] = fmax(
			widths[i % columns], page_text_width(layout->page, type, table->cells[i]));
	}
	for (size_t i = 0; i < columns; i++)
		sum += widths[i] + cell_gap;
	double left = (layout->width - sum) / (double)columns;
	for (size_t i = 0; i < columns; i++)
		widths[i] += cell_gap + fmin(left, 16);
}

static void put_row(struct layout *layout, const struct sheet_item *table, size_t columns,
	size_t first, const double *widths)
{
	bool head = first == 0;
	double x = margin;
	layout->y += page_leading(PAGE_BODY);
	for (size_t i = 0; i < columns && first + i < table->cell_count; i++) {
		bool right = table->columns[i] == 'r';
		double inner = widths[i] - cell_gap;
		page_text(layout->page, head ? PAGE_SMALL : PAGE_BODY,
			head ? PAGE_INK_QUIET : PAGE_INK_TEXT, right ? PAGE_RIGHT : PAGE_LEFT,
			right ? x + inner : x, layout->y, table->cells[first + i]);
		x += widths[i];
	}
	if (!head)
		return;
	layout->y += 4;
	page_rule(layout->page, PAGE_INK_GRID, rule, margin, layout->y, margin + layout->width,
		layout->y);
	layout->y -= 1;
}

static void put_table(struct layout *layout, const struct sheet_item *table)
{
	size_t columns = strlen(table->columns);
	double widths[SHEET_COLUMNS_MAX];
	if (columns > SHEET_COLUMNS_MAX)
		columns = SHEET_COLUMNS_MAX;
	measure_columns(layout, table, columns, widths);
	for (size_t i = 0; i < table->cell_count; i += columns) {
		size_t page = layout->count;
		need(layout, page_leading(PAGE_BODY) * (i == 0 ? 3 : 1));
		if (layout->count > page && i > 0)
			put_row(layout, table, columns, 0, widths);
		put_row(layout, table, columns, i, widths);
	}
	layout->y += 5;
}

/* ---- pictures, codes */

/* All of them on one page where that leaves them legible. */
static void put_pictures(struct layout *layout, const struct sheet_item *items, size_t count)
{
	size_t across = count > 1 ? 2 : 1, rows = (count + across - 1) / across;
	double width = (layout->width - picture_gap * (double)(across - 1)) / (double)across;
	if (layout->bottom - layout->y < (picture_least + picture_gap) * (double)rows)
		new_page(layout);
	layout->y += layout->y > margin ? 10 : 0;
	double height = (layout->bottom - layout->y) / (double)rows - picture_gap;
	height = fmin(fmax(height, picture_least), picture_most);
	for (size_t i = 0; i < count && !layout->failed; i++) {
		if (i % across == 0)
			need(layout, height);
		struct page_box box = {margin + (width + picture_gap) * (double)(i % across),
			layout->y, width, height};
		if (!run_picture_draw(layout->page, box, items[i].picture))
			layout->failed = true;
		if (i % across == across - 1 || i + 1 == count)
			layout->y += height + picture_gap;
	}
}

/* Codes and the QR codes among them stand side by side. */
static void put_codes(struct layout *layout, const struct sheet_item *items, size_t count)
{
	double height = 0, side = 0;
	for (size_t i = 0; i < count; i++) {
		height += items[i].kind == SHEET_CODE ? page_leading(PAGE_CODE) : 0;
		side += items[i].kind == SHEET_QR ? qr_size + 4 : 0;
	}
	need(layout, fmax(height, side) + 6);
	double top = layout->y, y = top + page_leading(PAGE_CODE), qr = top;
	for (size_t i = 0; i < count; i++) {
		const struct sheet_item *item = &items[i];
		if (item->kind == SHEET_QR) {
			if (page_qr(layout->page, margin + layout->width - qr_size, qr, qr_size,
				    item->value))
				qr += qr_size + 4;
			continue;
		}
		page_text(
			layout->page, PAGE_SMALL, PAGE_INK_QUIET, PAGE_LEFT, margin, y, item->name);
		y = page_paragraph(layout->page, PAGE_CODE, PAGE_INK_TEXT, margin + field_name, y,
			layout->width - field_name - (side > 0 ? qr_size + 6 : 0), item->value);
	}
	layout->y = fmax(y, qr) + 4;
}

/* ---- the whole */

static bool is_code(enum sheet_kind kind)
{
	return kind == SHEET_CODE || kind == SHEET_QR;
}

/* How many items from the first on stand together. */
static size_t group(const struct sheet_item *items, size_t count)
{
	size_t together = 1;
	enum sheet_kind kind = items[0].kind;
	if (kind != SHEET_FIELD && kind != SHEET_PICTURE && !is_code(kind))
		return 1;
	while (together < count &&
		(items[together].kind == kind || (is_code(kind) && is_code(items[together].kind))))
		together++;
	return together;
}

static void put_group(struct layout *layout, const struct sheet_item *items, size_t count)
{
	switch (items[0].kind) {
	case SHEET_HEADING:
		put_heading(layout, items);
		break;
	case SHEET_FIELD:
		put_fields(layout, items, count);
		break;
	case SHEET_TABLE:
		put_table(layout, items);
		break;
	case SHEET_TEXT:
	case SHEET_ALERT:
		put_sentence(layout, items);
		break;
	case SHEET_CODE:
	case SHEET_QR:
		put_codes(layout, items, count);
		break;
	case SHEET_PICTURE:
		put_pictures(layout, items, count);
		break;
	}
}

static void put_feet(const struct layout *layout)
{
	for (size_t i = 0; i < layout->count; i++) {
		struct page *page = layout->pages[i];
		double y = page->height - margin + 4;
		char number[FOOT_SIZE];
		page_rule(page, PAGE_INK_GRID, rule, margin, y - 11, page->width - margin, y - 11);
		page_text(page, PAGE_SMALL, PAGE_INK_QUIET, PAGE_LEFT, margin, y,
			layout->sheet->foot);
		snprintf(number, sizeof(number), "page %zu of %zu", i + 1, layout->count);
		page_text(page, PAGE_SMALL, PAGE_INK_QUIET, PAGE_RIGHT, page->width - margin, y,
			number);
	}
}

struct page **sheet_pages(const struct sheet *sheet, size_t *count)
{
	struct layout layout = {.sheet = sheet};
	new_page(&layout);
	if (!layout.failed) {
		layout.y += page_leading(PAGE_TITLE) - 4;
		page_text(layout.page, PAGE_TITLE, PAGE_INK_TEXT, PAGE_LEFT, margin, layout.y,
			sheet->title);
		layout.y += 8;
	}
	for (size_t i = 0, together; i < sheet->count && !layout.failed; i += together) {
		together = group(&sheet->items[i], sheet->count - i);
		put_group(&layout, &sheet->items[i], together);
	}
	if (!layout.failed)
		put_feet(&layout);
	for (size_t i = 0; i < layout.count; i++)
		layout.failed = layout.failed || layout.pages[i]->failed;
	*count = layout.count;
	if (!layout.failed)
		return layout.pages;
	for (size_t i = 0; i < layout.count; i++)
		page_destroy(layout.pages[i]);
	free(layout.pages);
	return NULL;
}
