/* SPDX-License-Identifier: MIT
 *
 * Type and ink of a page: the tables, and the measuring of text. For the page and its writers.
 *
 * One family, humanist and with figures of one width, so that columns of numbers stand in line;
 * where it is not installed the next of the list is taken. Pango is asked for all text: it shapes
 * names in any script and finds a font for each.
 */
#ifndef DRAW_PAGE_TYPE_H
#define DRAW_PAGE_TYPE_H

#include "draw/page.h"

#include <pango/pango.h>

struct page_type_row {
	bool fixed; /* equal widths: the family for codes */
	double size, leading;
	PangoWeight weight;
};

const struct page_type_row *page_type_of(enum page_type type);
/* As a list that both fontconfig and CSS understand. Static. */
const char *page_type_family(bool fixed);
/* 0xRRGGBB */
unsigned page_ink_rgb(enum page_ink ink);
double page_ring_weight(void);

/* A description for pango; the caller frees it with pango_font_description_free. */
PangoFontDescription *page_type_description(enum page_type type);
/* Makes widths independent of the device they are measured for. */
void page_type_unhint(PangoContext *context);

struct page_measure;
struct page_measure *page_measure_create(void); /* NULL when memory is short */
void page_measure_destroy(struct page_measure *measure);
double page_measure_width(struct page_measure *measure, enum page_type type, const char *string);

typedef void page_line_take(void *context, const char *bytes, size_t length, double width);
/* Breaks the string into lines no wider than width and hands over each. */
void page_measure_lines(struct page_measure *measure, enum page_type type, const char *string,
	double width, page_line_take *take, void *context);

#endif
