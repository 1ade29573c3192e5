/* SPDX-License-Identifier: MIT
 *
 * Pictures on a page: up to six companions in the place where they are named, if what is left of
 * the one page is enough; else on a clean page behind everything else. All on one scale.
 */
#include "draw/sheet_layout.h"

#include <math.h>

enum {
	IN_PLACE_MOST = 6,
	PAIRS_MOST = 2, /* side by side with all that a picture of one has */
	ROWS_MOST = 4,  /* on a page of pictures */
	ACROSS = 2,
};

/* Points. */
static const double least = 138, most = 230, most_last = 300;
static const double above = 10, gap = 14;

static void scale_of(const struct sheet_item *items, size_t count, struct run_plot_scale *scale)
{
	*scale = (struct run_plot_scale){0};
	for (size_t i = 0; i < count; i++)
		run_plot_scale_add(scale, items[i].picture->curve);
}

/* The caption of a row has air of its own. */
static double below(size_t count)
{
	return count <= PAIRS_MOST ? gap : gap / 2;
}

double layout_pictures_least(size_t count)
{
	if (count == 0 || count > IN_PLACE_MOST)
		return 0;
	return (count <= PAIRS_MOST ? least : RUN_PICTURE_ROW_HEIGHT_LEAST) + above + below(count);
}

/* So many across, from the left, in one row. */
static void put_row(struct layout *layout, const struct sheet_item *items, size_t count,
	size_t across, double height)
{
	struct run_plot_scale scale;
	double width = (layout->width - gap * (double)(across - 1)) / (double)across;
	scale_of(items, count, &scale);
	for (size_t i = 0; i < count && !layout->failed; i++) {
		struct page_box box = {
			layout->left + (width + gap) * (double)i, layout->y, width, height};
		layout->failed = !run_picture_draw_scaled(
			layout->page, box, items[i].picture, count > 1 ? &scale : NULL);
	}
	layout->y += height + gap;
}

static void put_companions(
	struct layout *layout, const struct sheet_item *items, size_t count, double height)
{
	const struct run_picture *pictures[IN_PLACE_MOST];
	const struct page_box box = {layout->left, layout->y, layout->width, height};
	for (size_t i = 0; i < count; i++)
		pictures[i] = items[i].picture;
	layout->failed = !run_picture_row_draw(layout->page, box, pictures, count);
	layout->y += height + below(count);
}

void layout_put_pictures(struct layout *layout, const struct sheet_item *items, size_t count)
{
	double height = fmin(layout->picture_room - above - below(count), most);
	layout->y += above;
	if (count <= PAIRS_MOST)
		put_row(layout, items, count, count, height);
	else
		put_companions(layout, items, count, height);
}

void layout_put_pictures_last(
	struct layout *layout, const char *heading, const struct sheet_item *items, size_t count)
{
	size_t across = count > 1 ? ACROSS : 1, rows = (count + across - 1) / across;
	size_t pages = (rows + ROWS_MOST - 1) / ROWS_MOST, a_page = (rows + pages - 1) / pages;
	for (size_t i = 0, row = 0; i < count && !layout->failed; i += across, row++) {
		if (row % a_page == 0) {
			layout_new_page(layout);
			if (heading && !layout->failed)
				layout_put_heading(layout, heading);
			layout->y += 6;
		}
		size_t left = a_page - row % a_page;
		double height = (layout->bottom - layout->y) / (double)left - gap;
		size_t here = count - i < across ? count - i : across;
		if (!layout->failed)
			put_row(layout, &items[i], here, across, fmin(height, most_last));
	}
}
