/* SPDX-License-Identifier: MIT
 *
 * Digits large enough to be read from across the room: pixels of a small font of our own, each
 * several characters large.
 */
#ifndef DRAW_BIG_DIGITS_H
#define DRAW_BIG_DIGITS_H

#include "base/text.h"
#include "draw/text_plot.h"

enum { BIG_DIGITS_ROWS = 5 };

/* Columns that the number takes at scale 1: only 0-9, '.', '-' and ' ' have a shape, others count
 * as a space. At scale s a pixel is 2 s characters wide and s lines high. */
size_t big_digits_width(const char *number);

/* Writes the pixels of one of the BIG_DIGITS_ROWS rows, without a line end. */
void big_digits_row(const char *number, size_t row, size_t scale, enum text_plot_style style,
	struct text *text);

#endif
