/* SPDX-License-Identifier: MIT
 *
 * A page as SVG 1.1, written by hand: its text stays text that can be searched, copied and read
 * aloud. Each line says how wide it was measured, so that a viewer with other fonts keeps the
 * layout.
 */
#include "draw/page_type.h"
#include "draw/page_write.h"

#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { BUFFER_SIZE = 8192, PIECE_MOST = 512 };

struct svg {
	page_take *take;
	void *context;
	const char *prefix;
	bool failed; /* sticky */
	struct text text;
	char buffer[BUFFER_SIZE];
	size_t clip_count;
};

static void flush(struct svg *svg)
{
	svg->failed = svg->failed || !svg->take(svg->context, svg->buffer, svg->text.length);
	text_init(&svg->text, svg->buffer, sizeof(svg->buffer));
}

/* Called before each piece, which has no more than PIECE_MOST bytes. */
static struct text *piece(struct svg *svg)
{
	if (svg->text.length + PIECE_MOST >= sizeof(svg->buffer))
		flush(svg);
	return &svg->text;
}

/* A hundredth of a point is a third of what 200 dots to the inch could show of a tenth. */
static void put_number(struct svg *svg, const char *before, double value, const char *after)
{
	struct text *text = piece(svg);
	text_put(text, before);
	text_fixed(text, llround(value * 100), 2);
	text_put(text, after);
}

static void put_colour(struct svg *svg, const char *name, enum page_ink ink)
{
	text_format(piece(svg), " %s=\"#%06x\"", name, page_ink_rgb(ink));
}

/* XML 1.0 has no control characters, not even escaped. */
static void put_escaped(struct svg *svg, const char *string)
{
	for (; *string; string++) {
		struct text *text = piece(svg);
		if (*string == '<')
			text_put(text, "&lt;");
		else if (*string == '&')
			text_put(text, "&amp;");
		else if (*string == '"')
			text_put(text, "&quot;");
		else if ((unsigned char)*string >= ' ')
			text_put_bytes(text, string, 1);
	}
}

static void put_text(struct svg *svg, const struct page *page, const struct page_mark *mark)
{
	const struct page_type_row *type = page_type_of(mark->type);
	put_number(svg, "<text x=\"", mark->box.x, "\"");
	put_number(svg, " y=\"", mark->box.y, "\"");
	put_number(svg, " textLength=\"", mark->box.width, "\"");
	text_format(piece(svg), " class=\"t%d\"", (int)mark->type);
	put_colour(svg, "fill", mark->ink);
	text_put(piece(svg), type->fixed ? " lengthAdjust=\"spacingAndGlyphs\">" : ">");
	put_escaped(svg, page->text + mark->first);
	text_put(piece(svg), "</text>\n");
}

static void put_line(struct svg *svg, const struct page *page, const struct page_mark *mark)
{
	put_number(svg, "<polyline stroke-width=\"", mark->weight, "\"");
	put_colour(svg, "stroke", mark->ink);
	text_put(piece(svg), " points=\"");
	for (size_t i = 0; i < mark->count; i++) {
		struct page_point point = page->points[mark->first + i];
		put_number(svg, "", point.x, ",");
		put_number(svg, "", point.y, i + 1 < mark->count ? " " : "");
	}
	text_put(piece(svg), "\"/>\n");
}

static void put_box(struct svg *svg, const struct page_box *box)
{
	put_number(svg, "<rect x=\"", box->x, "\"");
	put_number(svg, " y=\"", box->y, "\"");
	put_number(svg, " width=\"", box->width, "\"");
	put_number(svg, " height=\"", box->height, "\"");
}

static void put_round(struct svg *svg, const struct page_mark *mark)
{
	bool dot = mark->kind == PAGE_MARK_DOT;
	put_number(svg, "<circle cx=\"", mark->box.x, "\"");
	put_number(svg, " cy=\"", mark->box.y, "\"");
	put_number(svg, " r=\"", mark->weight, "\"");
	put_colour(svg, "fill", dot ? mark->ink : PAGE_INK_PAPER);
	if (!dot) {
		put_colour(svg, "stroke", mark->ink);
		put_number(svg, " stroke-width=\"", page_ring_weight(), "\"");
	}
	text_put(piece(svg), "/>\n");
}

static void put_mark(struct svg *svg, const struct page *page, const struct page_mark *mark)
{
	if (mark->clipped) {
		text_format(piece(svg), "<clipPath id=\"%.40sclip%zu\">", svg->prefix,
			++svg->clip_count);
		put_box(svg, &mark->clip);
		text_format(piece(svg), "/></clipPath>\n<g clip-path=\"url(#%.40sclip%zu)\">\n",
			svg->prefix, svg->clip_count);
	}
	switch (mark->kind) {
	case PAGE_MARK_TEXT:
		put_text(svg, page, mark);
		break;
	case PAGE_MARK_LINE:
		put_line(svg, page, mark);
		break;
	case PAGE_MARK_AREA:
		put_box(svg, &mark->box);
		put_colour(svg, "fill", mark->ink);
		text_put(piece(svg), "/>\n");
		break;
	case PAGE_MARK_RING:
	case PAGE_MARK_DOT:
		put_round(svg, mark);
		break;
	}
	if (mark->clipped)
		text_put(piece(svg), "</g>\n");
}

/* The sizes of type as classes, with the units of the drawing. */
static void put_style(struct svg *svg)
{
	text_put(piece(svg), "<style>\ntext{white-space:pre}\npolyline{fill:none;"
			     "stroke-linejoin:round}\n");
	for (int i = PAGE_FIGURE; i <= PAGE_CODE; i++) {
		const struct page_type_row *type = page_type_of((enum page_type)i);
		text_format(piece(svg), ".t%d{font-family:%s;font-weight:%d", i,
			page_type_family(type->fixed), (int)type->weight);
		put_number(svg, ";font-size:", type->size, "px}\n");
	}
	text_put(piece(svg), "</style>\n");
}

static void put_head(struct svg *svg, const char *title, double width, double height)
{
	put_number(svg, "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"", width, "pt\"");
	put_number(svg, " height=\"", height, "pt\"");
	put_number(svg, " viewBox=\"0 0 ", width, "");
	put_number(svg, " ", height, "\" role=\"img\">\n<title>");
	put_escaped(svg, title);
	text_put(piece(svg), "</title>\n");
	put_style(svg);
	put_box(svg, &(struct page_box){0, 0, width, height});
	put_colour(svg, "fill", PAGE_INK_PAPER);
	text_put(piece(svg), "/>\n");
}

bool page_write_svg(struct page *const *pages, size_t count, const struct page_about *about,
	const char *prefix, page_take *take, void *context)
{
	double width = 0, height = 0, top = 0;
	struct svg *svg = calloc(1, sizeof(*svg));
	if (!svg)
		return false;
	*svg = (struct svg){.take = take, .context = context, .prefix = prefix};
	text_init(&svg->text, svg->buffer, sizeof(svg->buffer));
	for (size_t i = 0; i < count; i++) {
		width = fmax(width, pages[i]->width);
		height += pages[i]->height;
	}
	put_head(svg, about->title, width, height);
	for (size_t i = 0; i < count; i++) {
		put_number(svg, "<g transform=\"translate(0 ", top, ")\">\n");
		for (size_t j = 0; j < pages[i]->mark_count; j++)
			put_mark(svg, pages[i], &pages[i]->marks[j]);
		text_put(piece(svg), "</g>\n");
		top += pages[i]->height;
	}
	text_put(piece(svg), "</svg>\n");
	flush(svg);
	bool good = !svg->failed;
	free(svg);
	return good;
}
