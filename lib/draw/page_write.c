/* SPDX-License-Identifier: MIT
 *
 * PDF and PNG through cairo. Both come from one walk over the marks.
 */
#include "draw/page_write.h"

#include "draw/page_type.h"

#include <cairo-pdf.h>
#include <math.h>
#include <pango/pangocairo.h>
#include <string.h>

/* Fine enough for print, small enough for a mail. */
static const double png_dots_per_point = 200.0 / 72;

bool page_format_of(const char *path, enum page_format *format)
{
	static const char *const endings[] = {".svg", ".pdf", ".png"};
	size_t length = strlen(path);
	for (size_t i = 0; i < sizeof(endings) / sizeof(*endings); i++) {
		if (length > 4 && strcmp(path + length - 4, endings[i]) == 0) {
			*format = (enum page_format)i;
			return true;
		}
	}
	return false;
}

struct sink {
	page_take *take;
	void *context;
};

static cairo_status_t sink_take(void *closure, const unsigned char *bytes, unsigned int count)
{
	const struct sink *sink = closure;
	return sink->take(sink->context, bytes, count) ? CAIRO_STATUS_SUCCESS
						       : CAIRO_STATUS_WRITE_ERROR;
}

static void set_ink(cairo_t *cairo, enum page_ink ink)
{
	unsigned rgb = page_ink_rgb(ink);
	cairo_set_source_rgb(
		cairo, (rgb >> 16 & 255) / 255.0, (rgb >> 8 & 255) / 255.0, (rgb & 255) / 255.0);
}

static void draw_text(
	cairo_t *cairo, PangoLayout *layout, const struct page *page, const struct page_mark *mark)
{
	PangoFontDescription *description = page_type_description(mark->type);
	pango_layout_set_font_description(layout, description);
	pango_font_description_free(description);
	pango_layout_set_text(layout, page->text + mark->first, (int)mark->count);
	cairo_move_to(cairo, mark->box.x, mark->box.y);
	pango_cairo_show_layout_line(cairo, pango_layout_get_line_readonly(layout, 0));
}

static void draw_line(cairo_t *cairo, const struct page *page, const struct page_mark *mark)
{
	for (size_t i = 0; i < mark->count; i++) {
		struct page_point point = page->points[mark->first + i];
		cairo_line_to(cairo, point.x, point.y);
	}
	cairo_set_line_width(cairo, mark->weight);
	cairo_stroke(cairo);
}

static void draw_round(cairo_t *cairo, const struct page_mark *mark)
{
	cairo_arc(cairo, mark->box.x, mark->box.y, mark->weight, 0, 2 * acos(-1));
	if (mark->kind == PAGE_MARK_DOT) {
		cairo_fill(cairo);
		return;
	}
	set_ink(cairo, PAGE_INK_PAPER);
	cairo_fill_preserve(cairo);
	set_ink(cairo, mark->ink);
	cairo_set_line_width(cairo, page_ring_weight());
	cairo_stroke(cairo);
}

static void draw_mark(
	cairo_t *cairo, PangoLayout *layout, const struct page *page, const struct page_mark *mark)
{
	const struct page_box *box = &mark->box;
	cairo_save(cairo);
	cairo_new_path(cairo);
	if (mark->clipped) {
		cairo_rectangle(
			cairo, mark->clip.x, mark->clip.y, mark->clip.width, mark->clip.height);
		cairo_clip(cairo);
	}
	set_ink(cairo, mark->ink);
	switch (mark->kind) {
	case PAGE_MARK_TEXT:
		draw_text(cairo, layout, page, mark);
		break;
	case PAGE_MARK_LINE:
		draw_line(cairo, page, mark);
		break;
	case PAGE_MARK_AREA:
		cairo_rectangle(cairo, box->x, box->y, box->width, box->height);
		cairo_fill(cairo);
		break;
	case PAGE_MARK_RING:
	case PAGE_MARK_DOT:
		draw_round(cairo, mark);
		break;
	}
	cairo_restore(cairo);
}

static void draw_page(cairo_t *cairo, const struct page *page)
{
	cairo_set_line_join(cairo, CAIRO_LINE_JOIN_ROUND);
	PangoLayout *layout = pango_cairo_create_layout(cairo);
	page_type_unhint(pango_layout_get_context(layout));
	for (size_t i = 0; i < page->mark_count; i++)
		draw_mark(cairo, layout, page, &page->marks[i]);
	g_object_unref(layout);
}

static bool write_pdf(
	struct page *const *pages, size_t count, const struct page_about *about, struct sink *sink)
{
	cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(
		sink_take, sink, pages[0]->width, pages[0]->height);
	cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, about->title);
	cairo_pdf_surface_set_metadata(
		surface, CAIRO_PDF_METADATA_CREATOR, "ramplog " RAMPLOG_VERSION);
	/* Without one, the clock would be asked. */
	cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, about->created);
	cairo_t *cairo = cairo_create(surface);
	for (size_t i = 0; i < count; i++) {
		cairo_pdf_surface_set_size(surface, pages[i]->width, pages[i]->height);
		draw_page(cairo, pages[i]);
		cairo_show_page(cairo);
	}
	cairo_destroy(cairo);
	cairo_surface_finish(surface);
	bool good = cairo_surface_status(surface) == CAIRO_STATUS_SUCCESS;
	cairo_surface_destroy(surface);
	return good;
}

static bool write_png(struct page *const *pages, size_t count, struct sink *sink)
{
	double width = 0, height = 0;
	for (size_t i = 0; i < count; i++) {
		width = fmax(width, pages[i]->width);
		height += pages[i]->height;
	}
	cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24,
		(int)ceil(width * png_dots_per_point), (int)ceil(height * png_dots_per_point));
	cairo_t *cairo = cairo_create(surface);
	set_ink(cairo, PAGE_INK_PAPER);
	cairo_paint(cairo);
	cairo_scale(cairo, png_dots_per_point, png_dots_per_point);
	for (size_t i = 0; i < count; i++) {
		draw_page(cairo, pages[i]);
		cairo_translate(cairo, 0, pages[i]->height);
	}
	cairo_destroy(cairo);
	bool good =
		cairo_surface_write_to_png_stream(surface, sink_take, sink) == CAIRO_STATUS_SUCCESS;
	cairo_surface_destroy(surface);
	return good;
}

bool page_write(struct page *const *pages, size_t count, const struct page_about *about,
	enum page_format format, page_take *take, void *context)
{
	struct sink sink = {take, context};
	for (size_t i = 0; i < count; i++) {
		if (pages[i]->failed)
			return false;
	}
	switch (format) {
	case PAGE_SVG:
		return page_write_svg(pages, count, about, "", take, context);
	case PAGE_PDF:
		return write_pdf(pages, count, about, &sink);
	case PAGE_PNG:
		return write_png(pages, count, &sink);
	}
	return false;
}
