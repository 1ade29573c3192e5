/* SPDX-License-Identifier: MIT */
#include "draw/band_bar.h"

#include "base/decimal.h"

#include <assert.h>
#include <math.h>
#include <string.h>

struct glyphs {
	const char *outside, *inside, *below, *here, *above;
};

static const struct glyphs glyph_table[] = {
	[TEXT_PLOT_UTF8] = {"·", "━", "◀", "▲", "▶"},
	[TEXT_PLOT_ASCII] = {".", "=", "<", "^", ">"},
};

static void put_many(struct text *text, const char *glyph, size_t count)
{
	for (size_t i = 0; i < count; i++)
		text_put(text, glyph);
}

/* The cell in which the value stands; cells 0 and columns - 1 are the scale's two ends. */
static size_t cell_of(double value, double end, size_t columns)
{
	double position = value / end * (double)(columns - 1);
	if (!(position > 0))
		return 0;
	return position < (double)(columns - 1) ? (size_t)lround(position) : columns - 1;
}

static void put_pointer(const struct band_bar *bar, size_t columns, const struct glyphs *glyphs,
	struct text *pointer)
{
	double end = bar->low + bar->high;
	const char *glyph = glyphs->here;
	if (bar->value < 0)
		glyph = glyphs->below;
	else if (bar->value > end)
		glyph = glyphs->above;
	put_many(pointer, " ", cell_of(bar->value, end, columns));
	text_put(pointer, glyph);
}

void band_bar_draw(const struct band_bar *bar, size_t width, enum text_plot_style style,
	struct text *scale, struct text *pointer)
{
	const struct glyphs *glyphs = &glyph_table[style];
	char first[24], last[24];
	double end = bar->low + bar->high;
	assert(bar->low >= 0 && bar->low < bar->high);
	if (width < BAND_BAR_WIDTH_LEAST)
		width = BAND_BAR_WIDTH_LEAST;
	decimal_text(0, bar->places, first);
	decimal_text(decimal_round_even(end, 1, -bar->places), bar->places, last);
	size_t columns = width - strlen(first) - strlen(last) - 2;
	size_t from = cell_of(bar->low, end, columns), to = cell_of(bar->high, end, columns);
	text_put(scale, first);
	text_put(scale, " ");
	put_many(scale, glyphs->outside, from);
	text_put(scale, "[");
	put_many(scale, glyphs->inside, to > from ? to - from - 1 : 0);
	text_put(scale, "]");
	put_many(scale, glyphs->outside, columns - 1 - to);
	text_put(scale, " ");
	text_put(scale, last);
	if (!bar->has_value)
		return;
	put_many(pointer, " ", strlen(first) + 1);
	put_pointer(bar, columns, glyphs, pointer);
}
