/* SPDX-License-Identifier: MIT */
#include "draw/label.h"

#include "draw/code.h"
#include "draw/page_qr.h"

/* Points. */
static const double width = 198.4, height = 102; /* 70 by 36 mm */
static const double margin = 6;
static const double qr_size = 68; /* 24 mm: half a millimetre a module for a usual id */
static const double bars_height = 20;
/* 0.19 mm, the narrowest that common scanners are made for. */
static const double module_least = 0.19 / 25.4 * 72;

struct page *label_page(const struct label *label)
{
	struct page *page = page_create(width, height);
	if (!page)
		return NULL;
	const struct page_box bars = {
		margin, height - margin - bars_height, width - 2 * margin, bars_height};
	bool has_bars = page_128(page, bars, module_least, label->id);
	double size = has_bars ? qr_size : height - 2 * margin;
	bool has_qr = page_qr(page, 0, 0, size, label->id);
	double x = has_qr ? size : margin;
	double y = margin + page_leading(PAGE_STRONG);
	y = page_paragraph(page, PAGE_STRONG, PAGE_INK_TEXT, x, y, width - margin - x, label->id);
	for (size_t i = 0; i < label->line_count; i++)
		y = page_paragraph(
			page, PAGE_SMALL, PAGE_INK_TEXT, x, y, width - margin - x, label->lines[i]);
	return page;
}

static bool is_dark(const struct code *code, int row, int column)
{
	row -= CODE_QUIET_QR;
	column -= CODE_QUIET_QR;
	return row >= 0 && row < code->rows && column >= 0 && column < code->width &&
	       code->modules[row * code->width + column];
}

static void put_code(const struct code *code, bool dressed, struct text *text)
{
	/* two rows a line: neither, the upper, the lower, both */
	static const char *const blocks[] = {" ", "\u2580", "\u2584", "\u2588"};
	for (int row = 0; row < code->rows + 2 * CODE_QUIET_QR; row += 2) {
		if (dressed)
			text_put(text, "\033[30;107m");
		for (int column = 0; column < code->width + 2 * CODE_QUIET_QR; column++)
			text_put(text, blocks[is_dark(code, row, column) +
					       2 * is_dark(code, row + 1, column)]);
		text_put(text, dressed ? "\033[0m\n" : "\n");
	}
}

bool label_text(const struct label *label, bool dressed, struct text *text)
{
	struct code code;
	text_put(text, label->id);
	text_put(text, "\n");
	for (size_t i = 0; i < label->line_count; i++) {
		text_put(text, label->lines[i]);
		text_put(text, "\n");
	}
	if (!code_qr(&code, label->id))
		return false;
	put_code(&code, dressed, text);
	code_finish(&code);
	return !text->overflow;
}
