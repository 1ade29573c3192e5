/* SPDX-License-Identifier: MIT */
#include "draw/page_qr.h"

#include "draw/code.h"

/* Dark modules side by side are one area: no hair line between them. */
static void put_rows(struct page *page, const struct code *code, struct page_point corner,
	double module, double height)
{
	for (int row = 0; row < code->rows; row++) {
		for (int from = 0, count; from < code->width; from += count) {
			count = code_run(code, row, from);
			if (code->modules[row * code->width + from])
				page_area(page, PAGE_INK_TEXT,
					(struct page_box){corner.x + from * module,
						corner.y + row * height, count * module, height});
		}
	}
}

bool page_qr(struct page *page, double x, double y, double size, const char *text)
{
	struct code code;
	if (!code_qr(&code, text))
		return false;
	double module = size / (code.width + 2 * CODE_QUIET_QR);
	const struct page_point corner = {x + CODE_QUIET_QR * module, y + CODE_QUIET_QR * module};
	put_rows(page, &code, corner, module, module);
	code_finish(&code);
	return true;
}

bool page_128(struct page *page, struct page_box box, double module_least, const char *text)
{
	struct code code;
	if (!code_128(&code, text))
		return false;
	double module = box.width / (code.width + 2 * CODE_QUIET_128);
	bool fits = module >= module_least;
	if (fits)
		put_rows(page, &code, (struct page_point){box.x + CODE_QUIET_128 * module, box.y},
			module, box.height);
	code_finish(&code);
	return fits;
}
