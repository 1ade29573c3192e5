/* SPDX-License-Identifier: MIT
 *
 * A QR code (ISO/IEC 18004, by libqrencode) on a page.
 */
#ifndef DRAW_PAGE_QR_H
#define DRAW_PAGE_QR_H

#include "draw/page.h"

/* A square with its quiet zone. False where the text is too long for a code, or memory is short. */
bool page_qr(struct page *page, double x, double y, double size, const char *text);

#endif
