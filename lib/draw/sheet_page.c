/* SPDX-License-Identifier: MIT
 *
 * A sheet as pages: from top to bottom, a new page where the next thing does not fit. Fields stand
 * in two columns, a table takes the whole width; codes stand beside their QR code. It is laid out
 * twice: first without the pictures, to learn what they are left.
 */
#include "draw/page_qr.h"
#include "draw/sheet_layout.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Points. */
static const double margin = 38, foot_height = 18;
static const double field_name = 72, column_gap = 14;
static const double qr_size = 74, codes_below = 4;
static const double heading_above = 6, heading_below = 4;
static const double heading_least = 60; /* and what follows it */
static const double rule = 0.5;

enum { FOOT_SIZE = 400 };

void layout_new_page(struct layout *layout)
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
	layout->left = margin;
	layout->width = page->width - 2 * margin;
	layout->y = layout->top = margin;
	layout->bottom = page->height - margin - foot_height;
}

void layout_need(struct layout *layout, double height)
{
	if (layout->y + height > layout->bottom && layout->y > layout->top)
		layout_new_page(layout);
}

/* Pictures have their names above them and need no heading in their place. */
static bool heads_pictures(const struct layout *layout, const struct sheet_item *item)
{
	size_t next = (size_t)(item - layout->sheet->items) + 1;
	return next < layout->sheet->count && layout->sheet->items[next].kind == SHEET_PICTURE;
}

/* ---- sentences */

double layout_height(
	const struct layout *layout, enum page_type type, double width, const char *string)
{
	size_t marks = layout->page->mark_count, text = layout->page->text_length;
	double height = page_paragraph(layout->page, type, PAGE_INK_TEXT, 0, 0, width, string);
	layout->page->mark_count = marks;
	layout->page->text_length = text;
	return height;
}

static const double alert_indent = 9;

static enum page_type sentence_type(const struct sheet_item *item)
{
	return item->kind == SHEET_ALERT   ? PAGE_STRONG
	       : item->kind == SHEET_SMALL ? PAGE_SMALL
					   : PAGE_BODY;
}

/* 0: no sentence. */
static double sentence_height(const struct layout *layout, const struct sheet_item *item)
{
	bool alert = item->kind == SHEET_ALERT;
	if (!alert && item->kind != SHEET_SMALL && item->kind != SHEET_TEXT)
		return 0;
	return layout_height(layout, sentence_type(item),
		layout->width - (alert ? alert_indent : 0), item->value);
}

static void put_sentence(struct layout *layout, const struct sheet_item *item)
{
	bool alert = item->kind == SHEET_ALERT;
	enum page_type type = sentence_type(item);
	double indent = alert ? alert_indent : 0, width = layout->width - indent;
	layout_need(layout, sentence_height(layout, item));
	double top = layout->y;
	layout->y = page_paragraph(layout->page, type, PAGE_INK_TEXT, layout->left + indent,
			    layout->y + page_leading(type) - 2.5, width, item->value) -
		    page_leading(type) + 4;
	if (alert)
		page_area(layout->page, PAGE_INK_ALERT,
			(struct page_box){layout->left, top + 0.5, 2.5, layout->y - top - 3.5});
}

/* The figure that the page is read for, and beside it what it is. */
static void put_figure(struct layout *layout, const struct sheet_item *item)
{
	double figure = page_text_width(layout->page, PAGE_FIGURE, item->name) + 14;
	double width = layout->width - figure;
	double height = layout_height(layout, PAGE_BODY, width, item->value);
	double leading = page_leading(PAGE_FIGURE);
	layout_need(layout, fmax(height, leading) + 6);
	double baseline = layout->y + leading;
	page_text(layout->page, PAGE_FIGURE, PAGE_INK_TEXT, PAGE_LEFT, layout->left, baseline,
		item->name);
	/* Its last line stands on the figure's. */
	double first = fmax(
		baseline - height + page_leading(PAGE_BODY), layout->y + page_leading(PAGE_BODY));
	page_paragraph(layout->page, PAGE_BODY, PAGE_INK_TEXT, layout->left + figure, first, width,
		item->value);
	layout->y = fmax(baseline, first + height - page_leading(PAGE_BODY)) + 6;
}

void layout_put_heading(struct layout *layout, const char *heading)
{
	layout->y += layout->y > layout->top ? heading_above : 0;
	page_rule(layout->page, PAGE_INK_RULE, rule, layout->left, layout->y,
		layout->left + layout->width, layout->y);
	layout->y += page_leading(PAGE_HEADING);
	page_text(layout->page, PAGE_HEADING, PAGE_INK_TEXT, PAGE_LEFT, layout->left, layout->y,
		heading);
	layout->y += heading_below;
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
			layout_height(layout, PAGE_BODY, width - field_name, items[i].value);
	layout_need(layout, fmax(heights[0], heights[1]) + 4);
	double y[2] = {layout->y + page_leading(PAGE_BODY) - 2, 0};
	y[1] = y[0];
	for (size_t i = 0; i < count; i++) {
		size_t column = i >= half;
		y[column] = put_field(layout, &items[i],
			margin + (width + column_gap) * (double)column, y[column], width);
	}
	layout->y = fmax(y[0], y[1]) - page_leading(PAGE_BODY) + 5;
}

/* ---- codes */

/* How high a group of them is, and how wide what stands beside the QR codes. */
static double measure_codes(
	const struct layout *layout, const struct sheet_item *items, size_t count, double *width)
{
	double height = 0, side = 0;
	for (size_t i = 0; i < count; i++)
		side += items[i].kind == SHEET_QR ? qr_size + 4 : 0;
	*width = layout->width - (side > 0 ? qr_size + 10 : 0);
	for (size_t i = 0; i < count; i++) {
		if (items[i].kind == SHEET_CODE)
			height += page_leading(PAGE_CODE);
		else if (items[i].kind == SHEET_SMALL)
			height += layout_height(layout, PAGE_SMALL, *width, items[i].value) + 3;
	}
	return fmax(height + page_leading(PAGE_SMALL), side) + codes_below;
}

/* Codes and what is said of them stand beside their QR codes. */
static void put_codes(struct layout *layout, const struct sheet_item *items, size_t count)
{
	double width;
	layout_need(layout, measure_codes(layout, items, count, &width));
	double top = layout->y, y = top + page_leading(PAGE_SMALL), qr = top;
	for (size_t i = 0; i < count; i++) {
		const struct sheet_item *item = &items[i];
		if (item->kind == SHEET_SMALL) {
			y = page_paragraph(layout->page, PAGE_SMALL, PAGE_INK_TEXT, margin, y,
				    width, item->value) +
			    3;
			continue;
		}
		if (item->kind == SHEET_QR) {
			if (page_qr(layout->page, margin + layout->width - qr_size, qr, qr_size,
				    item->value))
				qr += qr_size + 4;
			continue;
		}
		page_text(
			layout->page, PAGE_SMALL, PAGE_INK_QUIET, PAGE_LEFT, margin, y, item->name);
		y = page_paragraph(layout->page, PAGE_CODE, PAGE_INK_TEXT, margin + field_name, y,
			width - field_name, item->value);
	}
	layout->y = fmax(y, qr) + codes_below;
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
	if (kind == SHEET_SMALL && count > 1 && is_code(items[1].kind))
		kind = items[1].kind;
	if (kind != SHEET_FIELD && kind != SHEET_PICTURE && !is_code(kind))
		return 1;
	while (together < count &&
		(items[together].kind == kind || (is_code(kind) && is_code(items[together].kind))))
		together++;
	return together;
}

/* With what must stand on the same page: a group of codes, or the sentence below it. */
static double heading_height(const struct layout *layout, const struct sheet_item *heading)
{
	const struct sheet_item *next = heading + 1;
	size_t left = layout->sheet->count - (size_t)(next - layout->sheet->items);
	double own = heading_above + page_leading(PAGE_HEADING) + heading_below, width;
	if (left == 0)
		return heading_least;
	size_t together = group(next, left);
	if (is_code(next[together - 1].kind))
		return own + measure_codes(layout, next, together, &width);
	return fmax(heading_least, own + sentence_height(layout, next));
}

static void put_group(struct layout *layout, const struct sheet_item *items, size_t count)
{
	switch (items[count - 1].kind) {
	case SHEET_HEADING:
		if (heads_pictures(layout, items))
			break;
		layout_need(layout, heading_height(layout, items));
		layout_put_heading(layout, items->value);
		break;
	case SHEET_FIGURE:
		put_figure(layout, items);
		break;
	case SHEET_FIELD:
		put_fields(layout, items, count);
		break;
	case SHEET_TABLE:
		layout_put_table(layout, items);
		break;
	case SHEET_TEXT:
	case SHEET_SMALL:
	case SHEET_ALERT:
		put_sentence(layout, items);
		break;
	case SHEET_CODE:
	case SHEET_QR:
		put_codes(layout, items, count);
		break;
	case SHEET_PICTURE:
		if (layout->pictures == SHEET_PICTURES_IN_PLACE)
			layout_put_pictures(layout, items, count);
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
		snprintf(number, sizeof(number), "page %zu of %zu", i + 1, layout->count);
		double width = page_text_width(page, PAGE_SMALL, number);
		page_text_fitted(page, PAGE_SMALL, PAGE_INK_QUIET, margin, y,
			layout->width - width - 12, layout->sheet->foot);
		page_text(page, PAGE_SMALL, PAGE_INK_QUIET, PAGE_RIGHT, page->width - margin, y,
			number);
	}
}

static void put_title(struct layout *layout)
{
	const struct sheet *sheet = layout->sheet;
	const char *mark = sheet->mark ? sheet->mark : "";
	double width = layout->width - page_text_width(layout->page, PAGE_TITLE, mark) - 20;
	layout->y += page_leading(PAGE_TITLE) - 4;
	page_text(layout->page, PAGE_TITLE, PAGE_INK_TEXT, PAGE_RIGHT, layout->left + layout->width,
		layout->y, mark);
	layout->y = page_paragraph(layout->page, PAGE_TITLE, PAGE_INK_TEXT, layout->left, layout->y,
			    width, sheet->title) -
		    page_leading(PAGE_TITLE) + 8;
}

/* The pictures, as one group; count 0: there are none. */
static const struct sheet_item *find_pictures(
	const struct sheet *sheet, size_t *count, const char **heading)
{
	*count = 0;
	*heading = NULL;
	for (size_t i = 0; i < sheet->count; i++) {
		if (sheet->items[i].kind != SHEET_PICTURE)
			continue;
		*count = group(&sheet->items[i], sheet->count - i);
		if (i > 0 && sheet->items[i - 1].kind == SHEET_HEADING)
			*heading = sheet->items[i - 1].value;
		return &sheet->items[i];
	}
	return NULL;
}

static void lay_out(struct layout *layout)
{
	const struct sheet *sheet = layout->sheet;
	size_t pictures;
	const char *heading;
	const struct sheet_item *first = find_pictures(sheet, &pictures, &heading);
	layout_new_page(layout);
	if (!layout->failed)
		put_title(layout);
	for (size_t i = 0, together; i < sheet->count && !layout->failed; i += together) {
		together = group(&sheet->items[i], sheet->count - i);
		put_group(layout, &sheet->items[i], together);
	}
	if (!layout->failed && first && layout->pictures == SHEET_PICTURES_LAST)
		layout_put_pictures_last(layout, heading, first, pictures);
	if (!layout->failed)
		put_feet(layout);
	for (size_t i = 0; i < layout->count; i++)
		layout->failed = layout->failed || layout->pages[i]->failed;
}

static void drop(struct layout *layout)
{
	for (size_t i = 0; i < layout->count; i++)
		page_destroy(layout->pages[i]);
	free(layout->pages);
}

struct page **sheet_pages(const struct sheet *sheet, size_t *count)
{
	struct layout layout = {.sheet = sheet};
	size_t pictures;
	const char *heading;
	find_pictures(sheet, &pictures, &heading);
	lay_out(&layout);
	if (!layout.failed && pictures > 0) {
		double least = layout_pictures_least(pictures), room = layout.bottom - layout.y;
		bool in_place = least > 0 && layout.count == 1 && room >= least;
		drop(&layout);
		layout = (struct layout){.sheet = sheet,
			.pictures = in_place ? SHEET_PICTURES_IN_PLACE : SHEET_PICTURES_LAST,
			.picture_room = room};
		lay_out(&layout);
	}
	*count = layout.count;
	if (!layout.failed)
		return layout.pages;
	drop(&layout);
	return NULL;
}
