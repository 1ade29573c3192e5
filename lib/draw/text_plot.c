/* SPDX-License-Identifier: MIT
 *
 * The field is a raster of cells. Each cell has 2 x 4 dots for the line, and one mark that shows
 * through where the line leaves it free: the band's borders and the judged span's ends.
 */
#include "draw/text_plot.h"

#include <math.h>
#include <string.h>

enum {
	DOTS_ACROSS = 2,
	DOTS_DOWN = 4,
	LINES_AROUND = 3, /* title, axis of time, its labels */
	MARGIN_LEAST = 5, /* so that the drawings of one run stand exactly below each other */
	CELLS_MOST = TEXT_PLOT_WIDTH_MOST * TEXT_PLOT_HEIGHT_MOST,
};

enum mark {
	MARK_NONE,
	MARK_BAND,
	MARK_SPAN,
	MARK_COUNT,
};

struct glyphs {
	const char *marks[MARK_COUNT];
	const char *wall, *wall_tick, *corner;
	const char *floor, *floor_tick, *floor_span, *floor_span_tick;
};

static const struct glyphs glyph_table[] = {
	[TEXT_PLOT_UTF8] = {{" ", "╌", "┊"}, "│", "┤", "└", "─", "┴", "━", "┻"},
	[TEXT_PLOT_ASCII] = {{" ", "-", ":"}, "|", "+", "+", "-", "+", "=", "#"},
};

struct field {
	const struct plot *plot;
	const struct glyphs *glyphs;
	enum text_plot_style style;
	size_t margin; /* columns left of the wall */
	size_t columns, rows;
	unsigned char dots[CELLS_MOST];
	unsigned char marks[CELLS_MOST];
};

static size_t clamp(size_t value, size_t least, size_t most)
{
	if (value < least)
		return least;
	return value > most ? most : value;
}

static size_t label_width(const struct axis *axis)
{
	size_t widest = 0;
	char label[AXIS_LABEL_SIZE];
	for (int64_t i = axis->first; i <= axis->last; i++) {
		axis_label(axis, i, label);
		if (strlen(label) > widest)
			widest = strlen(label);
	}
	return widest;
}

/* The row of dots or cells, counted from the top, where value stands; false outside the field. The
 * axis' two ends lie in the middle of the outermost rows. */
static bool row_of(const struct axis *axis, double value, size_t rows, size_t *row)
{
	double position = (1 - axis_fraction(axis, value)) * (double)(rows - 1);
	if (!(position > -0.5 && position < (double)rows - 0.5))
		return false;
	*row = (size_t)lround(position);
	return true;
}

static bool column_of(const struct axis *axis, double value, size_t columns, size_t *column)
{
	double position = axis_fraction(axis, value) * (double)columns;
	if (!(position >= 0 && position <= (double)columns))
		return false;
	*column = position < (double)columns ? (size_t)position : columns - 1;
	return true;
}

static void mark_band(struct field *field, double value)
{
	size_t row;
	if (!row_of(&field->plot->y, value, field->rows, &row))
		return;
	memset(&field->marks[row * field->columns], MARK_BAND, field->columns);
}

static void mark_span(struct field *field, double value)
{
	size_t column;
	if (!column_of(&field->plot->x, value, field->columns, &column))
		return;
	for (size_t row = 0; row < field->rows; row++)
		field->marks[row * field->columns + column] = MARK_SPAN;
}

static void set_dot(struct field *field, size_t x, size_t y)
{
	/* Unicode's numbering of the dots: the first three rows, then the fourth. */
	static const unsigned char bits[DOTS_DOWN][DOTS_ACROSS] = {
		{0x01, 0x08}, {0x02, 0x10}, {0x04, 0x20}, {0x40, 0x80}};
	size_t cell = y / DOTS_DOWN * field->columns + x / DOTS_ACROSS;
	field->dots[cell] |= bits[y % DOTS_DOWN][x % DOTS_ACROSS];
}

static void draw_line(struct field *field)
{
	double low[TEXT_PLOT_WIDTH_MOST * DOTS_ACROSS], high[TEXT_PLOT_WIDTH_MOST * DOTS_ACROSS];
	const struct axis *axis = &field->plot->y;
	size_t columns = field->columns * DOTS_ACROSS, rows = field->rows * DOTS_DOWN;
	plot_columns(field->plot, columns, low, high);
	for (size_t x = 0; x < columns; x++) {
		if (low[x] > high[x] || high[x] < axis->low || low[x] > axis->high)
			continue;
		size_t top = 0, bottom = 0;
		bool inside = row_of(axis, fmin(high[x], axis->high), rows, &top);
		inside = row_of(axis, fmax(low[x], axis->low), rows, &bottom) && inside;
		for (size_t y = top; inside && y <= bottom; y++)
			set_dot(field, x, y);
	}
}

static void put_dots(struct text *text, enum text_plot_style style, unsigned dots)
{
	if (style == TEXT_PLOT_UTF8) {
		/* U+2800 + dots, in UTF-8. */
		const char bytes[] = {
			(char)0xe2, (char)(0xa0 | dots >> 6), (char)(0x80 | (dots & 0x3f))};
		text_put_bytes(text, bytes, sizeof(bytes));
		return;
	}
	bool upper = dots & 0x1b, lower = dots & 0xe4;
	text_put(text, upper && lower ? "*" : upper ? "'" : ".");
}

static void put_spaces(struct text *text, size_t count)
{
	for (size_t i = 0; i < count; i++)
		text_put(text, " ");
}

/* The tick whose label stands in this row, if there is one. */
static bool row_tick(const struct field *field, size_t row, char *label)
{
	const struct axis *axis = &field->plot->y;
	for (int64_t i = axis->first; i <= axis->last; i++) {
		size_t at;
		if (!row_of(axis, axis_tick(axis, i), field->rows, &at) || at != row)
			continue;
		axis_label(axis, i, label);
		return true;
	}
	return false;
}

static void put_row(const struct field *field, size_t row, struct text *text)
{
	char label[AXIS_LABEL_SIZE] = "";
	bool tick = row_tick(field, row, label);
	put_spaces(text, field->margin - strlen(label));
	text_put(text, label);
	text_put(text, tick ? field->glyphs->wall_tick : field->glyphs->wall);
	size_t start = row * field->columns, end = start + field->columns;
	while (end > start && !field->dots[end - 1] && field->marks[end - 1] == MARK_NONE)
		end--;
	for (size_t i = start; i < end; i++) {
		if (field->dots[i])
			put_dots(text, field->style, field->dots[i]);
		else
			text_put(text, field->glyphs->marks[field->marks[i]]);
	}
	text_put(text, "\n");
}

static bool column_tick(const struct field *field, size_t column, int64_t *index)
{
	const struct axis *axis = &field->plot->x;
	for (int64_t i = axis->first; i <= axis->last; i++) {
		size_t at;
		if (!column_of(axis, axis_tick(axis, i), field->columns, &at) || at != column)
			continue;
		*index = i;
		return true;
	}
	return false;
}

static void put_floor(const struct field *field, struct text *text)
{
	const struct plot *plot = field->plot;
	const struct glyphs *glyphs = field->glyphs;
	size_t from = 0, to = 0;
	bool span = plot->has_span && column_of(&plot->x, plot->span_from, field->columns, &from) &&
		    column_of(&plot->x, plot->span_to, field->columns, &to);
	put_spaces(text, field->margin);
	text_put(text, glyphs->corner);
	for (size_t i = 0; i < field->columns; i++) {
		int64_t index;
		bool tick = column_tick(field, i, &index);
		if (span && i >= from && i <= to)
			text_put(text, tick ? glyphs->floor_span_tick : glyphs->floor_span);
		else
			text_put(text, tick ? glyphs->floor_tick : glyphs->floor);
	}
	text_put(text, "\n");
}

/* Labels stand centred below their ticks and are left out where they would touch another. */
static void put_labels(const struct field *field, struct text *text)
{
	size_t unit = strlen(field->plot->unit_x) + 1;
	size_t end = field->margin + 1 + field->columns, used = 0;
	for (size_t i = 0; i < field->columns; i++) {
		int64_t index;
		char label[AXIS_LABEL_SIZE];
		if (!column_tick(field, i, &index))
			continue;
		axis_label(&field->plot->x, index, label);
		size_t length = strlen(label), at = field->margin + 1 + i - length / 2;
		if ((used > 0 && at < used + 1) || at + length + unit > end)
			continue;
		put_spaces(text, at - used);
		text_put(text, label);
		used = at + length;
	}
	text_put(text, " ");
	text_put(text, field->plot->unit_x);
	text_put(text, "\n");
}

void text_plot_draw(const struct plot *plot, size_t width, size_t height,
	enum text_plot_style style, struct text *text)
{
	width = clamp(width, TEXT_PLOT_WIDTH_LEAST, TEXT_PLOT_WIDTH_MOST);
	height = clamp(height, TEXT_PLOT_HEIGHT_LEAST, TEXT_PLOT_HEIGHT_MOST);
	struct field field = {.plot = plot, .glyphs = &glyph_table[style], .style = style};
	field.margin = clamp(label_width(&plot->y), MARGIN_LEAST, TEXT_PLOT_WIDTH_LEAST / 2);
	field.columns = width - field.margin - 1;
	field.rows = height - LINES_AROUND;
	if (plot->has_band) {
		mark_band(&field, plot->band_low);
		mark_band(&field, plot->band_high);
	}
	if (plot->has_span) {
		mark_span(&field, plot->span_from);
		mark_span(&field, plot->span_to);
	}
	draw_line(&field);
	text_put(text, plot->title);
	text_put(text, "\n");
	for (size_t row = 0; row < field.rows; row++)
		put_row(&field, row, text);
	put_floor(&field, text);
	put_labels(&field, text);
}
