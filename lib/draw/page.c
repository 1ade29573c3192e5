/* SPDX-License-Identifier: MIT */
#include "draw/page.h"

#include "draw/page_type.h"

#include <stdlib.h>
#include <string.h>

/* Wider than any page: the line is never broken. */
static const double one_line = 1e5;

/* Makes room for `more` behind count elements. */
static bool grow(
	struct page *page, void **memory, size_t *room, size_t count, size_t more, size_t element)
{
	if (page->failed)
		return false;
	if (count + more <= *room)
		return true;
	size_t wanted = 2 * (count + more);
	void *grown = realloc(*memory, wanted * element);
	if (!grown) {
		page->failed = true;
		return false;
	}
	*memory = grown;
	*room = wanted;
	return true;
}

struct page *page_create(double width, double height)
{
	struct page *page = calloc(1, sizeof(*page));
	if (!page)
		return NULL;
	page->width = width;
	page->height = height;
	page->measure = page_measure_create();
	if (!page->measure) {
		page_destroy(page);
		return NULL;
	}
	return page;
}

void page_destroy(struct page *page)
{
	if (!page)
		return;
	page_measure_destroy(page->measure);
	free(page->marks);
	free(page->points);
	free(page->text);
	free(page);
}

static struct page_mark *add_mark(struct page *page, enum page_mark_kind kind, enum page_ink ink)
{
	void *memory = page->marks;
	if (!grow(page, &memory, &page->mark_room, page->mark_count, 1, sizeof(*page->marks)))
		return NULL;
	page->marks = memory;
	struct page_mark *mark = &page->marks[page->mark_count++];
	*mark = (struct page_mark){
		.kind = kind, .ink = ink, .clipped = page->clipping, .clip = page->clip};
	return mark;
}

/* Places the first bytes of a string; the length was measured together with the width. */
static void put_text(
	struct page *page, const struct page_mark *as, const char *bytes, size_t length)
{
	void *memory = page->text;
	if (!grow(page, &memory, &page->text_room, page->text_length, length + 1, 1))
		return;
	page->text = memory;
	struct page_mark *mark = add_mark(page, PAGE_MARK_TEXT, as->ink);
	if (!mark)
		return;
	mark->type = as->type;
	mark->box = as->box;
	mark->first = page->text_length;
	mark->count = length;
	memcpy(page->text + page->text_length, bytes, length);
	page->text[page->text_length + length] = '\0';
	page->text_length += length + 1;
}

double page_text_width(struct page *page, enum page_type type, const char *string)
{
	return page_measure_width(page->measure, type, string);
}

double page_leading(enum page_type type)
{
	return page_type_of(type)->leading;
}

/* Lines on their way from the measure to the page: broken there, placed here. */
struct paragraph {
	struct page *page;
	struct page_mark as;
	enum page_anchor anchor;
	double x;
};

static void put_line(void *context, const char *bytes, size_t length, double width)
{
	struct paragraph *paragraph = context;
	struct page_mark *as = &paragraph->as;
	double before[] = {[PAGE_LEFT] = 0, [PAGE_MIDDLE] = width / 2, [PAGE_RIGHT] = width};
	as->box.x = paragraph->x - before[paragraph->anchor];
	as->box.width = width;
	if (length > 0)
		put_text(paragraph->page, as, bytes, length);
	as->box.y += page_leading(as->type);
}

static double put_lines(
	struct page *page, struct paragraph paragraph, double y, double width, const char *string)
{
	paragraph.page = page;
	paragraph.as.box.y = y;
	paragraph.as.box.height = page_type_of(paragraph.as.type)->size;
	page_measure_lines(page->measure, paragraph.as.type, string, width, put_line, &paragraph);
	return paragraph.as.box.y;
}

void page_text(struct page *page, enum page_type type, enum page_ink ink, enum page_anchor anchor,
	double x, double y, const char *string)
{
	const struct paragraph line = {.as = {.ink = ink, .type = type}, .anchor = anchor, .x = x};
	put_lines(page, line, y, one_line, string);
}

/* Where the character begins of which the byte at i is one. */
static size_t character_begin(const char *string, size_t i)
{
	while (i > 0 && ((unsigned char)string[i] & 0xc0) == 0x80)
		i--;
	return i;
}

static size_t character_bytes(const char *string)
{
	size_t bytes = 1;
	while (((unsigned char)string[bytes] & 0xc0) == 0x80)
		bytes++;
	return bytes;
}

void page_text_fitted(struct page *page, enum page_type type, enum page_ink ink, double x, double y,
	double width, const char *string)
{
	static const char ellipsis[] = "\xe2\x80\xa6";
	size_t length = strlen(string);
	if (page_text_width(page, type, string) <= width) {
		page_text(page, type, ink, PAGE_LEFT, x, y, string);
		return;
	}
	char *cut = malloc(length + sizeof(ellipsis));
	if (!cut) {
		page->failed = true;
		return;
	}
	size_t head = character_begin(string, length / 2), tail = head;
	do {
		if (head > length - tail)
			head = character_begin(string, head - 1);
		else
			tail += character_bytes(string + tail);
		memcpy(cut, string, head);
		memcpy(cut + head, ellipsis, sizeof(ellipsis) - 1);
		memcpy(cut + head + sizeof(ellipsis) - 1, string + tail, length - tail + 1);
	} while (head > 0 && page_text_width(page, type, cut) > width);
	page_text(page, type, ink, PAGE_LEFT, x, y, cut);
	free(cut);
}

double page_paragraph(struct page *page, enum page_type type, enum page_ink ink, double x, double y,
	double width, const char *string)
{
	const struct paragraph lines = {.as = {.ink = ink, .type = type}, .x = x};
	return put_lines(page, lines, y, width, string);
}

void page_line(struct page *page, enum page_ink ink, double weight, const struct page_point *points,
	size_t count)
{
	void *memory = page->points;
	if (count < 2 || !grow(page, &memory, &page->point_room, page->point_count, count,
				 sizeof(*page->points)))
		return;
	page->points = memory;
	struct page_mark *mark = add_mark(page, PAGE_MARK_LINE, ink);
	if (!mark)
		return;
	mark->weight = weight;
	mark->first = page->point_count;
	mark->count = count;
	memcpy(page->points + page->point_count, points, count * sizeof(*points));
	page->point_count += count;
}

void page_rule(struct page *page, enum page_ink ink, double weight, double x0, double y0, double x1,
	double y1)
{
	const struct page_point points[] = {{x0, y0}, {x1, y1}};
	page_line(page, ink, weight, points, 2);
}

void page_area(struct page *page, enum page_ink ink, struct page_box box)
{
	struct page_mark *mark = add_mark(page, PAGE_MARK_AREA, ink);
	if (mark)
		mark->box = box;
}

static void add_round(struct page *page, enum page_mark_kind kind, enum page_ink ink, double x,
	double y, double radius)
{
	struct page_mark *mark = add_mark(page, kind, ink);
	if (!mark)
		return;
	mark->box = (struct page_box){x, y, 0, 0};
	mark->weight = radius;
}

void page_ring(struct page *page, enum page_ink ink, double x, double y, double radius)
{
	add_round(page, PAGE_MARK_RING, ink, x, y, radius);
}

void page_dot(struct page *page, enum page_ink ink, double x, double y, double radius)
{
	add_round(page, PAGE_MARK_DOT, ink, x, y, radius);
}

void page_clip(struct page *page, const struct page_box *box)
{
	page->clipping = box != NULL;
	page->clip = box ? *box : (struct page_box){0};
}
