/* SPDX-License-Identifier: MIT */
#include "draw/page_type.h"

#include <assert.h>
#include <pango/pangocairo.h>
#include <stdlib.h>
#include <string.h>

static const struct page_type_row types[] = {
	[PAGE_FIGURE] = {false, 21, 22, PANGO_WEIGHT_SEMIBOLD},
	[PAGE_TITLE] = {false, 14, 18, PANGO_WEIGHT_SEMIBOLD},
	[PAGE_HEADING] = {false, 9.5, 13, PANGO_WEIGHT_SEMIBOLD},
	[PAGE_BODY] = {false, 8.5, 11.5, PANGO_WEIGHT_NORMAL},
	[PAGE_STRONG] = {false, 8.5, 11.5, PANGO_WEIGHT_SEMIBOLD},
	[PAGE_SMALL] = {false, 7, 9.5, PANGO_WEIGHT_NORMAL},
	[PAGE_SMALL_STRONG] = {false, 7, 9.5, PANGO_WEIGHT_SEMIBOLD},
	[PAGE_LABEL] = {false, 7, 9.5, PANGO_WEIGHT_NORMAL},
	[PAGE_CODE] = {true, 6.5, 8.5, PANGO_WEIGHT_NORMAL},
};

static const unsigned inks[] = {
	[PAGE_INK_TEXT] = 0x1a1a1a,
	[PAGE_INK_QUIET] = 0x5c5c5c,
	[PAGE_INK_RULE] = 0x8a8a8a,
	[PAGE_INK_GRID] = 0xd9d9d9,
	[PAGE_INK_SPAN] = 0xefefef,
	[PAGE_INK_BAND] = 0xd6d6d6,
	[PAGE_INK_CURVE] = 0x1f2f46,
	[PAGE_INK_ALERT] = 0x9c2a10,
	[PAGE_INK_PAPER] = 0xffffff,
};

const struct page_type_row *page_type_of(enum page_type type)
{
	return &types[type];
}

const char *page_type_family(bool fixed)
{
	return fixed ? "DejaVu Sans Mono,monospace" : "Open Sans,DejaVu Sans,sans-serif";
}

unsigned page_ink_rgb(enum page_ink ink)
{
	return inks[ink];
}

double page_ring_weight(void)
{
	return 0.9;
}

PangoFontDescription *page_type_description(enum page_type type)
{
	PangoFontDescription *description = pango_font_description_new();
	pango_font_description_set_family_static(description, page_type_family(types[type].fixed));
	pango_font_description_set_weight(description, types[type].weight);
	/* Absolute: a point of the page is a unit of the drawing, whatever the screen's is. */
	pango_font_description_set_absolute_size(description, types[type].size * PANGO_SCALE);
	return description;
}

void page_type_unhint(PangoContext *context)
{
	cairo_font_options_t *options = cairo_font_options_create();
	cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
	cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
	cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
	pango_cairo_context_set_font_options(context, options);
	pango_context_set_round_glyph_positions(context, FALSE);
	cairo_font_options_destroy(options);
}

struct page_measure {
	PangoContext *context;
	PangoLayout *layout;
};

struct page_measure *page_measure_create(void)
{
	struct page_measure *measure = calloc(1, sizeof(*measure));
	if (!measure)
		return NULL;
	measure->context = pango_font_map_create_context(pango_cairo_font_map_get_default());
	page_type_unhint(measure->context);
	measure->layout = pango_layout_new(measure->context);
	return measure;
}

void page_measure_destroy(struct page_measure *measure)
{
	if (!measure)
		return;
	g_object_unref(measure->layout);
	g_object_unref(measure->context);
	free(measure);
}

/* No line ends within "MPa/s". */
static PangoAttrList *keep_units_whole(const char *text)
{
	PangoAttrList *list = pango_attr_list_new();
	for (const char *slash = text; (slash = strchr(slash, '/')); slash++) {
		if (slash == text || slash[-1] == ' ' || !slash[1] || slash[1] == ' ')
			continue;
		PangoAttribute *whole = pango_attr_allow_breaks_new(FALSE);
		whole->start_index = (guint)(slash - text);
		whole->end_index = whole->start_index + 2;
		pango_attr_list_insert(list, whole);
	}
	return list;
}

static void lay_out(
	struct page_measure *measure, enum page_type type, const char *string, int width)
{
	PangoFontDescription *description = page_type_description(type);
	pango_layout_set_font_description(measure->layout, description);
	pango_font_description_free(description);
	pango_layout_set_width(measure->layout, width);
	pango_layout_set_wrap(measure->layout, PANGO_WRAP_WORD_CHAR);
	char *valid = g_utf8_make_valid(string, -1);
	pango_layout_set_text(measure->layout, valid, -1);
	PangoAttrList *attributes = keep_units_whole(valid);
	pango_layout_set_attributes(measure->layout, attributes);
	pango_attr_list_unref(attributes);
	g_free(valid);
}

double page_measure_width(struct page_measure *measure, enum page_type type, const char *string)
{
	int width, height;
	lay_out(measure, type, string, -1);
	pango_layout_get_size(measure->layout, &width, &height);
	return (double)width / PANGO_SCALE;
}

void page_measure_lines(struct page_measure *measure, enum page_type type, const char *string,
	double width, page_line_take *take, void *context)
{
	assert(width > 0);
	lay_out(measure, type, string, (int)(width * PANGO_SCALE));
	/* The layout's own copy: what was no UTF-8 has been replaced in it. */
	const char *text = pango_layout_get_text(measure->layout);
	int count = pango_layout_get_line_count(measure->layout);
	for (int i = 0; i < count; i++) {
		PangoLayoutLine *line = pango_layout_get_line_readonly(measure->layout, i);
		PangoRectangle extent;
		pango_layout_line_get_extents(line, NULL, &extent);
		size_t length = (size_t)line->length;
		while (length > 0 && text[(size_t)line->start_index + length - 1] == ' ')
			length--;
		take(context, text + line->start_index, length, (double)extent.width / PANGO_SCALE);
	}
}
