/* SPDX-License-Identifier: MIT */
#include "draw/big_digits.h"

#include <assert.h>

enum { PIXEL_COLUMNS = 2, PIXEL_GAP = 1 };

struct shape {
	char character;
	unsigned char width;
	unsigned char rows[BIG_DIGITS_ROWS]; /* bit 2 is the left one of three pixels */
};

static const struct shape shapes[] = {
	{' ', 3, {0, 0, 0, 0, 0}},
	{'.', 1, {0, 0, 0, 0, 4}},
	{'-', 3, {0, 0, 7, 0, 0}},
	{'0', 3, {7, 5, 5, 5, 7}},
	{'1', 3, {2, 6, 2, 2, 7}},
	{'2', 3, {7, 1, 7, 4, 7}},
	{'3', 3, {7, 1, 3, 1, 7}},
	{'4', 3, {5, 5, 7, 1, 1}},
	{'5', 3, {7, 4, 7, 1, 7}},
	{'6', 3, {7, 4, 7, 5, 7}},
	{'7', 3, {7, 1, 1, 2, 2}},
	{'8', 3, {7, 5, 7, 5, 7}},
	{'9', 3, {7, 5, 7, 1, 7}},
};

static const struct shape *shape_of(char character)
{
	for (size_t i = 0; i < sizeof(shapes) / sizeof(*shapes); i++) {
		if (shapes[i].character == character)
			return &shapes[i];
	}
	return &shapes[0];
}

size_t big_digits_width(const char *number)
{
	size_t pixels = 0;
	for (size_t i = 0; number[i]; i++)
		pixels += shape_of(number[i])->width + (size_t)(i > 0 ? PIXEL_GAP : 0);
	return pixels * PIXEL_COLUMNS;
}

static void put_pixels(struct text *text, const char *glyph, size_t count)
{
	for (size_t i = 0; i < count; i++)
		text_put(text, glyph);
}

void big_digits_row(
	const char *number, size_t row, size_t scale, enum text_plot_style style, struct text *text)
{
	const char *full = style == TEXT_PLOT_UTF8 ? "█" : "#";
	assert(row < BIG_DIGITS_ROWS && scale >= 1);
	for (size_t i = 0; number[i]; i++) {
		const struct shape *shape = shape_of(number[i]);
		if (i > 0)
			put_pixels(text, " ", PIXEL_GAP * PIXEL_COLUMNS * scale);
		for (unsigned x = 0; x < shape->width; x++)
			put_pixels(text, (unsigned)shape->rows[row] & (4U >> x) ? full : " ",
				PIXEL_COLUMNS * scale);
	}
}
