/* SPDX-License-Identifier: MIT */
#include "../check.h"
#include "draw/page_qr.h"
#include "draw/sheet.h"
#include "pages.h"

#include <stdio.h>

static struct sheet *make_sheet(size_t rows)
{
	struct sheet *sheet = sheet_create("A <title>", "the foot", false);
	assert_non_null(sheet);
	sheet_alert(sheet, "It was %s & late.", "wet");
	sheet_field(sheet, "press", "north");
	sheet_field(sheet, "method", "%s",
		"one that has a name so long that it needs a second line "
		"in its half of the page");
	sheet_heading(sheet, "Results");
	sheet_table(sheet, "lr");
	sheet_cell(sheet, "specimen");
	sheet_cell(sheet, "load");
	for (size_t i = 0; i < rows; i++) {
		sheet_cell(sheet, "row-%zu", i);
		sheet_cell(sheet, "%zu.5 kN", i);
	}
	sheet_code(sheet, "seal", "00ff");
	sheet_qr(sheet, "seal 00ff");
	return sheet;
}

static struct page **pages_of(const struct sheet *sheet, size_t *count)
{
	struct page **pages = sheet_pages(sheet, count);
	assert_non_null(pages);
	return pages;
}

static void destroy_pages(struct page **pages, size_t count)
{
	for (size_t i = 0; i < count; i++)
		page_destroy(pages[i]);
	free(pages);
}

/* No two lines of text touch, and none leaves the page's margin. */
static void check_legible(const struct page *page)
{
	for (size_t i = 0; i < page->mark_count; i++) {
		const struct page_mark *a = &page->marks[i];
		if (a->kind != PAGE_MARK_TEXT)
			continue;
		struct page_box body = pages_body(a);
		if (body.x < 20 || body.y < 20 || body.x + body.width > page->width - 20 ||
			body.y + body.height > page->height - 20)
			fail_msg("'%s' leaves the page", page->text + a->first);
		for (size_t j = 0; j < i; j++) {
			const struct page_mark *b = &page->marks[j];
			if (b->kind == PAGE_MARK_TEXT && pages_overlap(body, pages_body(b)))
				fail_msg("'%s' and '%s' overlap", page->text + a->first,
					page->text + b->first);
		}
	}
}

static void one_page(void **state)
{
	struct sheet *sheet = make_sheet(3);
	size_t count;
	struct page **pages = pages_of(sheet, &count);
	(void)state;
	assert_int_equal(count, 1);
	assert_non_null(pages_find(pages[0], "A <title>"));
	assert_non_null(pages_find(pages[0], "It was wet & late."));
	assert_non_null(pages_find(pages[0], "page 1 of 1"));
	check_legible(pages[0]);
	/* Right columns end in one line. */
	const struct page_mark *head = pages_find(pages[0], "load");
	const struct page_mark *cell = pages_find(pages[0], "2.5 kN");
	check_near(head->box.x + head->box.width, cell->box.x + cell->box.width, 1e-6);
	destroy_pages(pages, count);
	sheet_destroy(sheet);
}

static void long_tables_go_on_with_their_head(void **state)
{
	struct sheet *sheet = make_sheet(100);
	size_t count, heads = 0, rows = 0;
	struct page **pages = pages_of(sheet, &count);
	(void)state;
	assert_int_equal(count, 2);
	for (size_t i = 0; i < count; i++) {
		check_legible(pages[i]);
		heads += pages_find(pages[i], "specimen") != NULL;
		for (size_t j = 0; j < 100; j++) {
			char name[20];
			snprintf(name, sizeof(name), "row-%zu", j);
			rows += pages_find(pages[i], name) != NULL;
		}
	}
	assert_int_equal(heads, 2);
	assert_int_equal(rows, 100);
	assert_non_null(pages_find(pages[1], "page 2 of 2"));
	destroy_pages(pages, count);
	sheet_destroy(sheet);
}

static void letter_where_it_is_used(void **state)
{
	struct sheet *sheet = sheet_create("t", "f", true);
	size_t count;
	struct page **pages = pages_of(sheet, &count);
	(void)state;
	check_near(pages[0]->width, 612, 0);
	check_near(pages[0]->height, 792, 0);
	destroy_pages(pages, count);
	sheet_destroy(sheet);
}

static void html_is_escaped_and_whole(void **state)
{
	struct sheet *sheet = make_sheet(2);
	struct pages_bytes html = {0};
	(void)state;
	assert_true(sheet_write(sheet, "", SHEET_HTML, pages_take, &html));
	assert_non_null(strstr(html.bytes, "<h1>A &lt;title&gt;</h1>"));
	assert_non_null(strstr(html.bytes, "<p class=\"alert\">It was wet &amp; late.</p>"));
	assert_non_null(strstr(html.bytes, "<dt>press</dt><dd>north</dd>"));
	assert_non_null(strstr(html.bytes, "<th class=\"r\">load</th></tr>"));
	assert_non_null(strstr(html.bytes, "<tr><td>row-1</td><td class=\"r\">1.5 kN</td></tr>"));
	assert_non_null(strstr(html.bytes, "</html>"));
	free(html.bytes);
	sheet_destroy(sheet);
}

static void text_is_broken_before_its_margin(void **state)
{
	struct sheet *sheet = make_sheet(2);
	struct pages_bytes text = {0};
	(void)state;
	assert_true(sheet_write(sheet, "", SHEET_TXT, pages_take, &text));
	assert_non_null(strstr(text.bytes, "\n! It was wet & late.\npress             north\n"));
	assert_non_null(strstr(text.bytes, "\nrow-1     1.5 kN\n"));
	for (char *line = text.bytes; line;
		line = strchr(line, '\n') ? strchr(line, '\n') + 1 : NULL)
		assert_true(strcspn(line, "\n") <= 78);
	free(text.bytes);
	sheet_destroy(sheet);
}

/* The three corners that a reader looks for: 7 x 7 modules with a ring of white in them. */
static void qr_has_its_corners(void **state)
{
	struct page *page = page_create(100, 100);
	(void)state;
	assert_true(page_qr(page, 0, 0, 100, "ramplog run 3 seal 00ff"));
	double module = page->marks[0].box.height;
	/* The first row begins with seven dark modules, after four white ones. */
	check_near(page->marks[0].box.x, 4 * module, 1e-9);
	check_near(page->marks[0].box.width, 7 * module, 1e-9);
	char *too_long = calloc(1, 5000);
	memset(too_long, 'x', 4999);
	assert_false(page_qr(page, 0, 0, 100, too_long));
	free(too_long);
	page_destroy(page);
}

static void formats_by_name(void **state)
{
	enum sheet_format format;
	(void)state;
	assert_true(sheet_format_of("a.html", &format) && format == SHEET_HTML);
	assert_true(sheet_format_of("a.txt", &format) && format == SHEET_TXT);
	assert_true(sheet_format_of("a.pdf", &format) && format == SHEET_PDF);
	assert_false(sheet_format_of("a.doc", &format));
	assert_false(sheet_format_of(".txt", &format));
	assert_false(sheet_format_of("txt", &format));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(one_page),
		cmocka_unit_test(long_tables_go_on_with_their_head),
		cmocka_unit_test(letter_where_it_is_used),
		cmocka_unit_test(html_is_escaped_and_whole),
		cmocka_unit_test(text_is_broken_before_its_margin),
		cmocka_unit_test(qr_has_its_corners),
		cmocka_unit_test(formats_by_name),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
