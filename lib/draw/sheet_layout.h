/* SPDX-License-Identifier: MIT
 *
 * Inside of the sheet's pages: where the next thing goes, shared by the files that place it.
 */
#ifndef DRAW_SHEET_LAYOUT_H
#define DRAW_SHEET_LAYOUT_H

#include "draw/sheet.h"

/* Where pictures go. */
enum sheet_pictures {
	SHEET_PICTURES_LEFT_OUT, /* while the rest is measured */
	SHEET_PICTURES_IN_PLACE,
	SHEET_PICTURES_LAST, /* behind everything else */
};

struct layout {
	const struct sheet *sheet;
	enum sheet_pictures pictures;
	double picture_room; /* in place: the height that is left for them */
	struct page **pages;
	size_t count;
	struct page *page;
	double left, width; /* between the margins */
	double y, top, bottom;
	bool failed;
};

void layout_new_page(struct layout *layout);
/* A new page where that height does not fit any more. */
void layout_need(struct layout *layout, double height);
/* How high the paragraph is; nothing is placed. */
double layout_height(
	const struct layout *layout, enum page_type type, double width, const char *string);

void layout_put_table(struct layout *layout, const struct sheet_item *table);
/* The least height of so many pictures in the place where they are named; 0: they have none. */
double layout_pictures_least(size_t count);
void layout_put_pictures(struct layout *layout, const struct sheet_item *items, size_t count);
/* The same behind everything else, under their heading (NULL: none). */
void layout_put_pictures_last(
	struct layout *layout, const char *heading, const struct sheet_item *items, size_t count);
void layout_put_heading(struct layout *layout, const char *heading);

#endif
