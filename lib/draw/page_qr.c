/* SPDX-License-Identifier: MIT */
#include "draw/page_qr.h"

#include <qrencode.h>

/* Modules that must stay white around the code. */
enum { QUIET = 4 };

bool page_qr(struct page *page, double x, double y, double size, const char *text)
{
	QRcode *code = QRcode_encodeString8bit(text, 0, QR_ECLEVEL_M);
	if (!code)
		return false;
	double module = size / (code->width + 2 * QUIET);
	for (int row = 0; row < code->width; row++) {
		const unsigned char *modules = code->data + (size_t)row * (size_t)code->width;
		for (int from = 0, to; from < code->width; from = to) {
			for (to = from + 1;
				to < code->width && (modules[to] & 1) == (modules[from] & 1);)
				to++;
			/* Dark modules side by side are one area: no hair line between them. */
			if (modules[from] & 1)
				page_area(page, PAGE_INK_TEXT,
					(struct page_box){x + (from + QUIET) * module,
						y + (row + QUIET) * module, (to - from) * module,
						module});
		}
	}
	QRcode_free(code);
	return true;
}
