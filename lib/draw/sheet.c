/* SPDX-License-Identifier: MIT */
#include "draw/sheet.h"

#include "base/text.h"

#include <assert.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Whatever a person typed: from here on it is UTF-8 that every format can hold. */
static char *copy(struct sheet *sheet, const char *text)
{
	char *copied = strdup(text);
	sheet->failed = sheet->failed || !copied;
	if (copied)
		text_make_printable(copied);
	return copied;
}

struct sheet *sheet_create(const char *title, const char *foot, bool letter)
{
	struct sheet *sheet = calloc(1, sizeof(*sheet));
	if (!sheet)
		return NULL;
	sheet->title = copy(sheet, title);
	sheet->foot = copy(sheet, foot);
	sheet->letter = letter;
	return sheet;
}

void sheet_destroy(struct sheet *sheet)
{
	if (!sheet)
		return;
	for (size_t i = 0; i < sheet->count; i++) {
		struct sheet_item *item = &sheet->items[i];
		for (size_t j = 0; j < item->cell_count; j++)
			free(item->cells[j]);
		free(item->cells);
		free(item->columns);
		free(item->name);
		free(item->value);
	}
	free(sheet->items);
	free(sheet->title);
	free(sheet->foot);
	free(sheet->mark);
	free(sheet->about);
	free(sheet);
}

static struct sheet_item *add_item(struct sheet *sheet, enum sheet_kind kind, const char *name)
{
	if (sheet->failed)
		return NULL;
	if (sheet->count == sheet->room) {
		size_t room = sheet->room ? 2 * sheet->room : 32;
		struct sheet_item *items = realloc(sheet->items, room * sizeof(*items));
		if (!items) {
			sheet->failed = true;
			return NULL;
		}
		sheet->items = items;
		sheet->room = room;
	}
	struct sheet_item *item = &sheet->items[sheet->count++];
	*item = (struct sheet_item){.kind = kind, .name = copy(sheet, name)};
	return item;
}

static void add_value(
	struct sheet *sheet, enum sheet_kind kind, const char *name, const char *value)
{
	struct sheet_item *item = add_item(sheet, kind, name);
	if (item)
		item->value = copy(sheet, value);
}

static void add_format(struct sheet *sheet, enum sheet_kind kind, const char *name,
	const char *format, va_list arguments)
{
	struct sheet_item *item = add_item(sheet, kind, name);
	if (!item)
		return;
	if (vasprintf(&item->value, format, arguments) < 0) {
		item->value = NULL;
		sheet->failed = true;
		return;
	}
	text_make_printable(item->value);
}

void sheet_about(struct sheet *sheet, const char *text)
{
	free(sheet->about);
	sheet->about = copy(sheet, text);
}

void sheet_mark(struct sheet *sheet, const char *text)
{
	free(sheet->mark);
	sheet->mark = copy(sheet, text);
}

void sheet_heading(struct sheet *sheet, const char *text)
{
	add_value(sheet, SHEET_HEADING, "", text);
}

void sheet_field(struct sheet *sheet, const char *name, const char *format, ...)
{
	va_list arguments;
	va_start(arguments, format);
	add_format(sheet, SHEET_FIELD, name, format, arguments);
	va_end(arguments);
}

void sheet_figure(struct sheet *sheet, const char *figure, const char *format, ...)
{
	va_list arguments;
	va_start(arguments, format);
	add_format(sheet, SHEET_FIGURE, figure, format, arguments);
	va_end(arguments);
}

void sheet_small(struct sheet *sheet, const char *format, ...)
{
	va_list arguments;
	va_start(arguments, format);
	add_format(sheet, SHEET_SMALL, "", format, arguments);
	va_end(arguments);
}

void sheet_text(struct sheet *sheet, const char *format, ...)
{
	va_list arguments;
	va_start(arguments, format);
	add_format(sheet, SHEET_TEXT, "", format, arguments);
	va_end(arguments);
}

void sheet_alert(struct sheet *sheet, const char *format, ...)
{
	va_list arguments;
	va_start(arguments, format);
	add_format(sheet, SHEET_ALERT, "", format, arguments);
	va_end(arguments);
}

void sheet_code(struct sheet *sheet, const char *name, const char *text)
{
	add_value(sheet, SHEET_CODE, name, text);
}

void sheet_qr(struct sheet *sheet, const char *text)
{
	add_value(sheet, SHEET_QR, "", text);
}

void sheet_picture(struct sheet *sheet, const struct run_picture *picture)
{
	struct sheet_item *item = add_item(sheet, SHEET_PICTURE, picture->name);
	if (item)
		item->picture = picture;
}

void sheet_table(struct sheet *sheet, const char *columns)
{
	struct sheet_item *item = add_item(sheet, SHEET_TABLE, "");
	if (item)
		item->columns = copy(sheet, columns);
}

void sheet_cell(struct sheet *sheet, const char *format, ...)
{
	if (sheet->failed)
		return;
	assert(sheet->count > 0);
	struct sheet_item *table = &sheet->items[sheet->count - 1];
	assert(table->kind == SHEET_TABLE);
	char **cells = realloc(table->cells, (table->cell_count + 1) * sizeof(*cells));
	va_list arguments;
	if (!cells) {
		sheet->failed = true;
		return;
	}
	table->cells = cells;
	va_start(arguments, format);
	if (vasprintf(&cells[table->cell_count], format, arguments) < 0)
		sheet->failed = true;
	else
		text_make_printable(cells[table->cell_count++]);
	va_end(arguments);
}

bool sheet_format_of(const char *path, enum sheet_format *format)
{
	enum page_format page;
	const char *ending = strrchr(path, '.');
	if (page_format_of(path, &page))
		*format = (enum sheet_format)page;
	else if (ending && ending != path && strcmp(ending, ".html") == 0)
		*format = SHEET_HTML;
	else if (ending && ending != path && strcmp(ending, ".txt") == 0)
		*format = SHEET_TXT;
	else
		return false;
	return true;
}

bool sheet_write(const struct sheet *sheet, const char *created, enum sheet_format format,
	page_take *take, void *context)
{
	if (sheet->failed)
		return false;
	if (format == SHEET_HTML)
		return sheet_write_html(sheet, take, context);
	if (format == SHEET_TXT)
		return sheet_write_text(sheet, take, context);
	const struct page_about about = {sheet->about ? sheet->about : sheet->title, created};
	size_t count;
	struct page **pages = sheet_pages(sheet, &count);
	bool good =
		pages && page_write(pages, count, &about, (enum page_format)format, take, context);
	for (size_t i = 0; pages && i < count; i++)
		page_destroy(pages[i]);
	free(pages);
	return good;
}
