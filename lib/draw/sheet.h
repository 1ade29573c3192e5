/* SPDX-License-Identifier: MIT
 *
 * A report before it is laid out: headings, fields, tables, sentences, pictures, codes, in their
 * order. Written once, it becomes pages (SVG, PDF, PNG), HTML or plain text; nothing is in one of
 * them that is not in the others, but for the pictures, which plain text does without.
 *
 * A sheet that ran out of memory says so when it is written.
 */
#ifndef DRAW_SHEET_H
#define DRAW_SHEET_H

#include "draw/page_write.h"
#include "draw/run_picture.h"

enum sheet_kind {
	SHEET_HEADING,
	SHEET_FIGURE, /* the result in large type (name), and what it is (value) */
	SHEET_FIELD,  /* a name and its value; several in a row stand in two columns */
	SHEET_TABLE,  /* the first row is its head */
	SHEET_TEXT,
	SHEET_SMALL, /* a sentence for those who look for it */
	SHEET_ALERT, /* a sentence that must not be overlooked */
	SHEET_CODE,  /* a name and letters to be compared one by one */
	SHEET_QR,
	SHEET_PICTURE, /* in one group: together in place where the page has room, else behind it */
};

struct sheet_item {
	enum sheet_kind kind;
	char *name, *value; /* owned; a heading, sentence or code for a reader is in value */
	char *columns;      /* owned: "llr", one letter a column */
	char **cells;       /* owned, row by row */
	size_t cell_count;
	const struct run_picture *picture; /* not owned */
};

struct sheet {
	char *title, *foot; /* owned; the foot stands on each page, with its number */
	char *about;        /* owned: what the file says of itself; NULL: the title */
	char *mark;         /* owned: at the right of the title, "Report 7"; NULL: none */
	bool letter;        /* US letter instead of A4 */
	struct sheet_item *items;
	size_t count, room;
	bool failed;
};

/* NULL when memory is short. */
struct sheet *sheet_create(const char *title, const char *foot, bool letter);
void sheet_destroy(struct sheet *sheet); /* NULL is fine */

void sheet_about(struct sheet *sheet, const char *text);
void sheet_mark(struct sheet *sheet, const char *text);
void sheet_heading(struct sheet *sheet, const char *text);
void sheet_field(struct sheet *sheet, const char *name, const char *format, ...)
	__attribute__((format(printf, 3, 4)));
void sheet_figure(struct sheet *sheet, const char *figure, const char *format, ...)
	__attribute__((format(printf, 3, 4)));
void sheet_small(struct sheet *sheet, const char *format, ...)
	__attribute__((format(printf, 2, 3)));
void sheet_text(struct sheet *sheet, const char *format, ...) __attribute__((format(printf, 2, 3)));
void sheet_alert(struct sheet *sheet, const char *format, ...)
	__attribute__((format(printf, 2, 3)));
void sheet_code(struct sheet *sheet, const char *name, const char *text);
void sheet_qr(struct sheet *sheet, const char *text);
void sheet_picture(struct sheet *sheet, const struct run_picture *picture);

/* Begins a table; its cells follow, row by row, the head first. */
void sheet_table(struct sheet *sheet, const char *columns);
void sheet_cell(struct sheet *sheet, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* ---- writing */

enum sheet_format {
	SHEET_SVG = PAGE_SVG,
	SHEET_PDF = PAGE_PDF,
	SHEET_PNG = PAGE_PNG,
	SHEET_HTML,
	SHEET_TXT,
};

/* By the ending of the name: ".pdf", ".svg", ".png", ".html", ".txt". */
bool sheet_format_of(const char *path, enum sheet_format *format);

/* about.title is the sheet's. False when the taker stopped or memory was short. */
bool sheet_write(const struct sheet *sheet, const char *created, enum sheet_format format,
	page_take *take, void *context);

/* The pages; *pages and each of them are the caller's to free. NULL when memory is short. */
struct page **sheet_pages(const struct sheet *sheet, size_t *count);
bool sheet_write_html(const struct sheet *sheet, page_take *take, void *context);
bool sheet_write_text(const struct sheet *sheet, page_take *take, void *context);

#endif
