/* SPDX-License-Identifier: MIT
 *
 * A page before it is printed: text, lines and areas, placed in points (1/72 in) from its top left
 * corner. Drawn once; page_write.h turns it into SVG, PDF or PNG, and all three show the same.
 *
 * What is on the page is told apart by form and by how dark it is, never by hue alone: it must
 * survive a copier. Text is measured when it is placed, with hinting off, so that a line breaks at
 * the same word in every format. A page that ran out of memory stays usable and says so at the end.
 */
#ifndef DRAW_PAGE_H
#define DRAW_PAGE_H

#include <stdbool.h>
#include <stddef.h>

/* The sizes and weights of type; page_type.c has the table. */
enum page_type {
	PAGE_FIGURE, /* the one result of a page */
	PAGE_TITLE,
	PAGE_HEADING,
	PAGE_BODY,
	PAGE_STRONG,
	PAGE_SMALL,
	PAGE_SMALL_STRONG,
	PAGE_LABEL, /* numbers on axes */
	PAGE_CODE,  /* seals and keys: equal widths */
};

enum page_ink {
	PAGE_INK_TEXT,
	PAGE_INK_QUIET, /* what is there to be found, not to be read first */
	PAGE_INK_RULE,
	PAGE_INK_GRID,
	PAGE_INK_SPAN,
	PAGE_INK_BAND,
	PAGE_INK_CURVE,
	PAGE_INK_ALERT, /* what was not met; always heavier too, or said in words */
	PAGE_INK_PAPER,
};

enum page_anchor {
	PAGE_LEFT,
	PAGE_MIDDLE,
	PAGE_RIGHT,
};

struct page_point {
	double x, y;
};

struct page_box {
	double x, y, width, height;
};

enum page_mark_kind {
	PAGE_MARK_TEXT, /* bytes of the page's text, on the baseline at box.x, box.y; box.width wide
			 */
	PAGE_MARK_LINE, /* through points, `weight` wide */
	PAGE_MARK_AREA, /* box, filled */
	PAGE_MARK_RING, /* around box.x, box.y with radius `weight`, filled with paper */
	PAGE_MARK_DOT,  /* the same, filled with ink */
};

struct page_mark {
	enum page_mark_kind kind;
	enum page_ink ink;
	enum page_type type;
	struct page_box box;
	double weight;
	size_t first, count; /* into text (then ended by a NUL) or points */
	bool clipped;
	struct page_box clip;
};

/* Open for the writers and for tests; changed by the functions below only. */
struct page {
	double width, height;
	struct page_mark *marks;
	size_t mark_count, mark_room;
	struct page_point *points;
	size_t point_count, point_room;
	char *text;
	size_t text_length, text_room;
	struct page_measure *measure;
	bool clipping;
	struct page_box clip;
	bool failed; /* memory was short: something is missing */
};

/* NULL when memory is short. */
struct page *page_create(double width, double height);
void page_destroy(struct page *page); /* NULL is fine */

/* One line of UTF-8 (anything else is shown as replacement characters), on the baseline y. */
void page_text(struct page *page, enum page_type type, enum page_ink ink, enum page_anchor anchor,
	double x, double y, const char *string);
/* The same from the left; where it is wider, an ellipsis stands for its middle: names of one series
 * differ at their ends. */
void page_text_fitted(struct page *page, enum page_type type, enum page_ink ink, double x, double y,
	double width, const char *string);
/* Lines no wider than width; y is the first baseline. Returns the next one below the last line. */
double page_paragraph(struct page *page, enum page_type type, enum page_ink ink, double x, double y,
	double width, const char *string);
double page_text_width(struct page *page, enum page_type type, const char *string);
double page_leading(enum page_type type); /* from baseline to baseline */

void page_line(struct page *page, enum page_ink ink, double weight, const struct page_point *points,
	size_t count);
void page_rule(struct page *page, enum page_ink ink, double weight, double x0, double y0, double x1,
	double y1);
void page_area(struct page *page, enum page_ink ink, struct page_box box);
void page_ring(struct page *page, enum page_ink ink, double x, double y, double radius);
void page_dot(struct page *page, enum page_ink ink, double x, double y, double radius);

/* What follows is cut off outside the box; NULL: no longer. */
void page_clip(struct page *page, const struct page_box *box);

#endif
