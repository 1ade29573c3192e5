/* SPDX-License-Identifier: MIT
 *
 * A value against its permitted band, as two lines of text that need no colour: a scale with the
 * band between brackets in its middle, and a pointer below it.
 *
 *     0.00 .............[==========]............. 0.50
 *                             ^
 */
#ifndef DRAW_BAND_BAR_H
#define DRAW_BAND_BAR_H

#include "base/text.h"
#include "draw/text_plot.h"

struct band_bar {
	double low, high; /* the band, 0 <= low < high; the scale runs from 0 to low + high */
	bool has_value;
	double value;
	int places; /* decimals of the labels at the scale's ends */
};

/* Writes the scale with its labels, and the line with the pointer, each without a line end; width
 * is that of the whole scale line, at least BAND_BAR_WIDTH_LEAST. A value off the scale has its
 * pointer at the end, and the pointer shows where to. */
enum { BAND_BAR_WIDTH_LEAST = 30 };
void band_bar_draw(const struct band_bar *bar, size_t width, enum text_plot_style style,
	struct text *scale, struct text *pointer);

#endif
