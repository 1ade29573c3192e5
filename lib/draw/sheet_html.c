/* SPDX-License-Identifier: MIT
 *
 * A sheet as one HTML file that needs no other: pictures and codes are SVG inside it.
 */
#include "draw/page_qr.h"
#include "draw/sheet.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

static const double picture_width = 460, picture_height = 260;
static const double qr_size = 96;

struct html {
	page_take *take;
	void *context;
	bool failed; /* sticky */
};

static void put(struct html *html, const char *text)
{
	html->failed = html->failed || !html->take(html->context, text, strlen(text));
}

static void put_escaped(struct html *html, const char *text)
{
	while (*text) {
		size_t plain = strcspn(text, "<>&");
		html->failed =
			html->failed || (plain > 0 && !html->take(html->context, text, plain));
		text += plain;
		if (!*text)
			return;
		put(html, *text == '<' ? "&lt;" : *text == '>' ? "&gt;" : "&amp;");
		text++;
	}
}

static void put_element(struct html *html, const char *open, const char *text, const char *close)
{
	put(html, open);
	put_escaped(html, text);
	put(html, close);
}

static const char style[] =
	"<style>\n"
	"body{font:15px/1.45 'Open Sans','DejaVu Sans',sans-serif;color:#1a1a1a;background:#fff;"
	"max-width:960px;margin:2em auto;padding:0 1em}\n"
	"h1{font-size:1.5em;font-weight:600}\n"
	"h2{font-size:1.05em;font-weight:600;border-top:1px solid #8a8a8a;padding-top:.5em}\n"
	"dl{display:grid;grid-template-columns:max-content 1fr max-content 1fr;gap:.15em 1em}\n"
	"dt,th,footer{color:#5c5c5c;font-weight:400;font-size:.87em}\n"
	"dd{margin:0}\n"
	"table{border-collapse:collapse;width:100%;font-variant-numeric:tabular-nums}\n"
	"th,td{text-align:left;padding:.15em .8em .15em 0}\n"
	"th{border-bottom:1px solid #d9d9d9}\n"
	".r{text-align:right}\n"
	".alert{font-weight:600;border-left:3px solid #9c2a10;padding-left:.6em}\n"
	".small{font-size:.87em}\n"
	".figure{font-size:1.9em;font-weight:600;margin-right:.4em}\n"
	".mark{float:right;font-size:1.5em;font-weight:600}\n"
	"figure{display:inline-block;margin:0 1em 1em 0}\n"
	"code{font-size:.8em;overflow-wrap:anywhere}\n"
	"</style>\n";

static void put_table(struct html *html, const struct sheet_item *table)
{
	size_t columns = strlen(table->columns);
	assert(columns > 0);
	put(html, "<table>\n");
	for (size_t i = 0; i < table->cell_count; i++) {
		bool head = i < columns, right = table->columns[i % columns] == 'r';
		if (i % columns == 0)
			put(html, "<tr>");
		put(html, head ? "<th" : "<td");
		put_element(html, right ? " class=\"r\">" : ">", table->cells[i],
			head ? "</th>" : "</td>");
		if (i % columns == columns - 1)
			put(html, "</tr>\n");
	}
	put(html, "</table>\n");
}

static void put_page(struct html *html, struct page *page, const char *title, size_t number)
{
	const struct page_about about = {title, ""};
	char prefix[32];
	if (!page || page->failed) {
		html->failed = true;
		return;
	}
	snprintf(prefix, sizeof(prefix), "p%zu-", number);
	put(html, "<figure>\n");
	html->failed = html->failed ||
		       !page_write_svg(&page, 1, &about, prefix, html->take, html->context);
	put(html, "</figure>\n");
}

static void put_picture(struct html *html, const struct sheet_item *item, size_t number)
{
	struct page *page = page_create(picture_width, picture_height);
	const struct page_box box = {0, 0, picture_width, picture_height};
	if (page && !run_picture_draw(page, box, item->picture))
		html->failed = true;
	put_page(html, page, item->name, number);
	page_destroy(page);
}

static void put_qr(struct html *html, const struct sheet_item *item, size_t number)
{
	struct page *page = page_create(qr_size, qr_size);
	if (page && page_qr(page, 0, 0, qr_size, item->value))
		put_page(html, page, item->value, number);
	html->failed = html->failed || !page;
	page_destroy(page);
}

static void put_item(struct html *html, const struct sheet_item *item, size_t number)
{
	switch (item->kind) {
	case SHEET_HEADING:
		put_element(html, "<h2>", item->value, "</h2>\n");
		break;
	case SHEET_FIELD:
		put_element(html, "<dt>", item->name, "</dt>");
		put_element(html, "<dd>", item->value, "</dd>\n");
		break;
	case SHEET_TABLE:
		put_table(html, item);
		break;
	case SHEET_FIGURE:
		put_element(html, "<p><strong class=\"figure\">", item->name, "</strong> ");
		put_element(html, "", item->value, "</p>\n");
		break;
	case SHEET_SMALL:
		put_element(html, "<p class=\"small\">", item->value, "</p>\n");
		break;
	case SHEET_TEXT:
		put_element(html, "<p>", item->value, "</p>\n");
		break;
	case SHEET_ALERT:
		put_element(html, "<p class=\"alert\">", item->value, "</p>\n");
		break;
	case SHEET_CODE:
		put_element(html, "<p>", item->name, " ");
		put_element(html, "<code>", item->value, "</code></p>\n");
		break;
	case SHEET_QR:
		put_qr(html, item, number);
		break;
	case SHEET_PICTURE:
		put_picture(html, item, number);
		break;
	}
}

bool sheet_write_html(const struct sheet *sheet, page_take *take, void *context)
{
	struct html html = {take, context, false};
	put(&html, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n");
	put_element(&html, "<title>", sheet->about ? sheet->about : sheet->title, "</title>\n");
	put(&html, style);
	put(&html, "</head>\n<body>\n");
	if (sheet->mark)
		put_element(&html, "<p class=\"mark\">", sheet->mark, "</p>\n");
	put_element(&html, "<h1>", sheet->title, "</h1>\n");
	for (size_t i = 0; i < sheet->count; i++) {
		bool field = sheet->items[i].kind == SHEET_FIELD;
		if (field && (i == 0 || sheet->items[i - 1].kind != SHEET_FIELD))
			put(&html, "<dl>\n");
		put_item(&html, &sheet->items[i], i);
		if (field && (i + 1 == sheet->count || sheet->items[i + 1].kind != SHEET_FIELD))
			put(&html, "</dl>\n");
	}
	put_element(&html, "<footer>", sheet->foot, "</footer>\n</body>\n</html>\n");
	return !html.failed;
}
