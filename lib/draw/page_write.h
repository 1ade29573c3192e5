/* SPDX-License-Identifier: MIT
 *
 * Pages as files: SVG (text stays text), PDF (fonts embedded), PNG (200 dots to the inch). The same
 * pages give the same bytes each time, on a machine with the same fonts: no clock is asked, and
 * what a PDF says of its own making is what the caller says. The bytes go to the caller, who owns
 * the file.
 */
#ifndef DRAW_PAGE_WRITE_H
#define DRAW_PAGE_WRITE_H

#include "base/text.h"
#include "draw/page.h"

enum page_format {
	PAGE_SVG,
	PAGE_PDF,
	PAGE_PNG,
};

struct page_about {
	const char *title;   /* UTF-8 */
	const char *created; /* ISO 8601, from the record, never from a clock; "" none */
};

/* False: stop, it cannot be written. */
typedef bool page_take(void *context, const void *bytes, size_t count);

/* By the ending of the name: ".svg", ".pdf", ".png". */
bool page_format_of(const char *path, enum page_format *format);

/* Several pages: one after the other in a PDF, one below the other in SVG and PNG. False when the
 * taker stopped or memory was short, then or while a page was drawn. */
bool page_write(struct page *const *pages, size_t count, const struct page_about *about,
	enum page_format format, page_take *take, void *context);

/* For page_write and for pages inside an HTML file: identifiers begin with the prefix. */
bool page_write_svg(struct page *const *pages, size_t count, const struct page_about *about,
	const char *prefix, page_take *take, void *context);

#endif
