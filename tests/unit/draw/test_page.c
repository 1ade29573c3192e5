/* SPDX-License-Identifier: MIT */
#include "../check.h"
#include "draw/page.h"
#include "draw/page_write.h"
#include "pages.h"

static const struct page_about about = {"a <page> & its \"title\"", "2026-11-25T09:34:40Z"};

static struct page *make_page(void)
{
	struct page *page = page_create(200, 100);
	const struct page_point line[] = {{10, 10}, {50, 20.256}, {190, 90}};
	const struct page_box clip = {20, 5, 100, 60};
	assert_non_null(page);
	page_text(page, PAGE_BODY, PAGE_INK_TEXT, PAGE_LEFT, 10, 20, "pier <2> & \"north\"");
	page_area(page, PAGE_INK_BAND, (struct page_box){10, 40, 20, 5});
	page_clip(page, &clip);
	page_line(page, PAGE_INK_CURVE, 1.1, line, 3);
	page_clip(page, NULL);
	page_ring(page, PAGE_INK_ALERT, 50, 50, 2);
	return page;
}

static struct pages_bytes write_page(struct page *page, enum page_format format)
{
	struct pages_bytes bytes = {0};
	assert_true(page_write(&page, 1, &about, format, pages_take, &bytes));
	return bytes;
}

static void anchors(void **state)
{
	struct page *page = page_create(200, 100);
	(void)state;
	page_text(page, PAGE_BODY, PAGE_INK_TEXT, PAGE_LEFT, 100, 20, "left");
	page_text(page, PAGE_BODY, PAGE_INK_TEXT, PAGE_MIDDLE, 100, 40, "middle");
	page_text(page, PAGE_BODY, PAGE_INK_TEXT, PAGE_RIGHT, 100, 60, "right");
	const struct page_mark *left = pages_find(page, "left");
	const struct page_mark *middle = pages_find(page, "middle");
	const struct page_mark *right = pages_find(page, "right");
	check_near(left->box.x, 100, 0);
	check_near(middle->box.x + middle->box.width / 2, 100, 1e-9);
	check_near(right->box.x + right->box.width, 100, 1e-9);
	check_near(left->box.width, page_text_width(page, PAGE_BODY, "left"), 1e-9);
	page_destroy(page);
}

static void figures_have_one_width(void **state)
{
	struct page *page = page_create(200, 100);
	(void)state;
	for (int type = PAGE_TITLE; type <= PAGE_CODE; type++)
		check_near(page_text_width(page, (enum page_type)type, "111.1"),
			page_text_width(page, (enum page_type)type, "808.8"), 1e-9);
	page_destroy(page);
}

static void paragraph_breaks_between_words(void **state)
{
	struct page *page = page_create(200, 100);
	(void)state;
	double next = page_paragraph(
		page, PAGE_BODY, PAGE_INK_TEXT, 10, 20, 60, "the load stood still for six seconds");
	assert_true(page->mark_count >= 2);
	check_near(next, 20 + (double)page->mark_count * page_leading(PAGE_BODY), 1e-9);
	size_t letters = 0;
	for (size_t i = 0; i < page->mark_count; i++) {
		assert_true(page->marks[i].box.width <= 60);
		check_near(page->marks[i].box.y, 20 + (double)i * page_leading(PAGE_BODY), 1e-9);
		letters += strlen(page->text + page->marks[i].first) + 1;
	}
	/* All words are there, with a blank or a break between them. */
	assert_int_equal(letters, strlen("the load stood still for six seconds") + 1);
	page_destroy(page);
}

static void long_names_keep_both_ends(void **state)
{
	static const char name[] = "p\xc3\xb6\xc3\xb6\xc3\xb6\xc3\xb6\xc3\xb6\xc3\xb6r-1";
	struct page *measure = page_create(200, 100);
	double whole = page_text_width(measure, PAGE_BODY, name);
	(void)state;
	page_destroy(measure);
	for (double width = 30; width < whole + 3; width += 1) {
		struct page *page = page_create(200, 100);
		page_text_fitted(page, PAGE_BODY, PAGE_INK_TEXT, 10, 20, width, name);
		const char *shown = page->text + page->marks[0].first;
		assert_true(page->marks[0].box.width <= width);
		assert_null(strstr(shown, "\xef\xbf\xbd")); /* no half character */
		assert_int_equal(strcmp(shown, name) == 0, whole <= width);
		assert_int_equal(strstr(shown, "\xe2\x80\xa6") == NULL, whole <= width);
		assert_true(shown[0] == 'p' && shown[strlen(shown) - 1] == '1');
		page_destroy(page);
	}
}

static void same_bytes_each_time(void **state)
{
	static const char *const begin[] = {"<svg ", "%PDF-", "\x89PNG"};
	(void)state;
	for (int format = PAGE_SVG; format <= PAGE_PNG; format++) {
		struct page *pages[] = {make_page(), make_page()};
		struct pages_bytes first = write_page(pages[0], (enum page_format)format);
		struct pages_bytes second = write_page(pages[1], (enum page_format)format);
		assert_memory_equal(first.bytes, begin[format], strlen(begin[format]));
		assert_int_equal(first.count, second.count);
		assert_memory_equal(first.bytes, second.bytes, first.count);
		free(first.bytes);
		free(second.bytes);
		page_destroy(pages[0]);
		page_destroy(pages[1]);
	}
}

static void svg_keeps_text_as_text(void **state)
{
	struct page *page = make_page();
	struct pages_bytes svg = write_page(page, PAGE_SVG);
	(void)state;
	assert_non_null(strstr(svg.bytes, ">pier &lt;2> &amp; &quot;north&quot;</text>"));
	assert_non_null(
		strstr(svg.bytes, "<title>a &lt;page> &amp; its &quot;title&quot;</title>"));
	assert_non_null(strstr(svg.bytes, "points=\"10.00,10.00 50.00,20.26 190.00,90.00\""));
	assert_non_null(strstr(svg.bytes, "clip-path=\"url(#clip1)\""));
	free(svg.bytes);
	page_destroy(page);
}

static void pdf_dates_come_from_the_record(void **state)
{
	struct page *page = make_page();
	struct pages_bytes bytes = {0};
	const struct page_about undated = {"undated", ""};
	(void)state;
	assert_true(page_write(&page, 1, &undated, PAGE_PDF, pages_take, &bytes));
	assert_null(memmem(bytes.bytes, bytes.count, "CreationDate", 12));
	free(bytes.bytes);
	page_destroy(page);
}

static void text_that_is_no_utf8(void **state)
{
	struct page *page = page_create(200, 100);
	(void)state;
	page_text(page, PAGE_BODY, PAGE_INK_TEXT, PAGE_LEFT, 10, 20, "bad \xff byte");
	struct pages_bytes svg = write_page(page, PAGE_SVG);
	assert_null(strchr(svg.bytes, '\xff'));
	assert_non_null(strstr(svg.bytes, "bad "));
	free(svg.bytes);
	page_destroy(page);
}

static bool refuse(void *context, const void *bytes, size_t count)
{
	(void)bytes;
	(void)count;
	++*(int *)context;
	return false;
}

static void taker_that_refuses(void **state)
{
	(void)state;
	for (int format = PAGE_SVG; format <= PAGE_PNG; format++) {
		struct page *page = make_page();
		int calls = 0;
		assert_false(
			page_write(&page, 1, &about, (enum page_format)format, refuse, &calls));
		assert_true(calls >= 1);
		page_destroy(page);
	}
}

static void formats_by_name(void **state)
{
	enum page_format format;
	(void)state;
	assert_true(page_format_of("run.pdf", &format) && format == PAGE_PDF);
	assert_true(page_format_of("a/b.svg", &format) && format == PAGE_SVG);
	assert_true(page_format_of("x.png", &format) && format == PAGE_PNG);
	assert_false(page_format_of("run.jpg", &format));
	assert_false(page_format_of("pdf", &format));
	assert_false(page_format_of(".pdf", &format));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(anchors),
		cmocka_unit_test(figures_have_one_width),
		cmocka_unit_test(paragraph_breaks_between_words),
		cmocka_unit_test(long_names_keep_both_ends),
		cmocka_unit_test(same_bytes_each_time),
		cmocka_unit_test(svg_keeps_text_as_text),
		cmocka_unit_test(pdf_dates_come_from_the_record),
		cmocka_unit_test(text_that_is_no_utf8),
		cmocka_unit_test(taker_that_refuses),
		cmocka_unit_test(formats_by_name),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
