/* SPDX-License-Identifier: MIT
 *
 * A plot as lines of text: a title, the field with its axis of values on the left, the axis of time
 * with its labels below. Braille dots (eight to a character) where the terminal speaks UTF-8, plain
 * ASCII else. Without colour: the line, the band and the judged span differ in form.
 */
#ifndef DRAW_TEXT_PLOT_H
#define DRAW_TEXT_PLOT_H

#include "base/text.h"
#include "draw/plot.h"

enum text_plot_style {
	TEXT_PLOT_UTF8,
	TEXT_PLOT_ASCII,
};

enum {
	TEXT_PLOT_WIDTH_LEAST = 24,
	TEXT_PLOT_WIDTH_MOST = 240,
	TEXT_PLOT_HEIGHT_LEAST = 6,
	TEXT_PLOT_HEIGHT_MOST = 80,
};

/* Writes height lines, each of at most width columns and ended by "\n"; sizes outside the limits
 * above are brought inside. */
void text_plot_draw(const struct plot *plot, size_t width, size_t height,
	enum text_plot_style style, struct text *text);

#endif
