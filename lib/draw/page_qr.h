/* SPDX-License-Identifier: MIT
 *
 * Codes for scanners on a page.
 */
#ifndef DRAW_PAGE_QR_H
#define DRAW_PAGE_QR_H

#include "draw/page.h"

/* A QR code: a square with its quiet zone. False where the text is too long for a code, or memory
 * is short. */
bool page_qr(struct page *page, double x, double y, double size, const char *text);
/* Code 128 over the width of the box, quiet zones included. False, and nothing drawn, where the
 * text has no such code or its modules would be narrower than module_least points. */
bool page_128(struct page *page, struct page_box box, double module_least, const char *text);

#endif
