/* SPDX-License-Identifier: MIT
 *
 * The label of a specimen: what a person reads, and the same id as a QR code and, where a scanner
 * could still read it, as Code 128. 70 by 36 mm, a page for each.
 */
#ifndef DRAW_LABEL_H
#define DRAW_LABEL_H

#include "base/text.h"
#include "draw/page.h"

enum { LABEL_LINES_MAX = 4, LABEL_LINE_SIZE = 96 };

struct label {
	char id[LABEL_LINE_SIZE]; /* what the codes say, and nothing else */
	char lines[LABEL_LINES_MAX][LABEL_LINE_SIZE];
	size_t line_count;
};

/* NULL when memory is short. */
struct page *label_page(const struct label *label);

/* The lines, then the QR code in half blocks. dressed: black on white by the terminal's own means;
 * else the paper must be light. False where the text does not fit or memory is short. */
bool label_text(const struct label *label, bool dressed, struct text *text);

#endif
