/* SPDX-License-Identifier: MIT */
#include "../check.h"
#include "base/units.h"
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

static void headings_stay_with_what_they_head(void **state)
{
	static const char phrase[] = "and so on and on ";
	char text[95 * (sizeof(phrase) - 1) + 1] = "";
	(void)state;
	for (size_t i = 0; i + 1 < sizeof(text); i++)
		text[i] = phrase[i % (sizeof(phrase) - 1)];
	for (size_t rows = 30; rows < 50; rows++) {
		struct sheet *sheet = make_sheet(rows);
		size_t count, at = 0;
		sheet_heading(sheet, "Rule");
		sheet_text(sheet, "%s", text);
		struct page **pages = pages_of(sheet, &count);
		while (at < count && !pages_find(pages[at], "Rule"))
			at++;
		assert_true(at < count);
		const struct page_mark *last = &pages[at]->marks[pages[at]->mark_count - 1];
		size_t below = 0;
		for (const struct page_mark *mark = pages_find(pages[at], "Rule"); mark < last;)
			below += (++mark)->kind == PAGE_MARK_TEXT;
		assert_true(below > 2); /* more than what stands at the foot */
		destroy_pages(pages, count);
		sheet_destroy(sheet);
	}
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

/* A name as long as one may be, in every column: the table stays within the page, and stands on its
 * side in plain text. */
static void wide_tables(void **state)
{
	const char *name = "a-name-of-forty-seven-bytes-which-is-the-longest";
	struct sheet *sheet = sheet_create("t", "f", false);
	struct pages_bytes text = {0};
	size_t count;
	(void)state;
	sheet_table(sheet, "lrrlr");
	for (size_t i = 0; i < 20; i++)
		sheet_cell(sheet, "%s %zu", name, i);
	struct page **pages = pages_of(sheet, &count);
	assert_int_equal(count, 1);
	check_legible(pages[0]);
	destroy_pages(pages, count);
	assert_true(sheet_write(sheet, "", SHEET_TXT, pages_take, &text));
	assert_non_null(strstr(text.bytes, "which-is-the-longest 19\n"));
	free(text.bytes);
	sheet_destroy(sheet);
}

static void table_on_its_side(void **state)
{
	struct sheet *sheet = sheet_create("t", "f", false);
	struct pages_bytes text = {0};
	(void)state;
	sheet_table(sheet, "lr");
	for (int i = 0; i < 4; i++)
		sheet_cell(sheet,
			i < 2 ? "head %d" : "%d: a cell of forty characters, not one less", i);
	assert_true(sheet_write(sheet, "", SHEET_TXT, pages_take, &text));
	assert_non_null(strstr(text.bytes,
		"head 0            2: a cell of forty characters, not one less\n"
		"head 1            3: a cell of forty characters, not one less\n"));
	free(text.bytes);
	sheet_destroy(sheet);
}

/* What a person may have typed: bytes that are no text, controls, what turns the line around. */
static void odd_characters(void **state)
{
	struct sheet *sheet = sheet_create("t", "f", false);
	(void)state;
	sheet_text(sheet, "%s",
		"a\xff"
		"b\x01"
		"c\u202e"
		"d\uffff"
		"e\tf \"<&>' \u00e9\u5f3a");
	assert_string_equal(sheet->items[0].value, "a?b?c?d?e f \"<&>' \u00e9\u5f3a");
	sheet_destroy(sheet);
}

/* ---- pictures */

static struct sample samples[200];
static struct outcome outcome;
static const struct run_curve curve = {samples, 200, {.ns = 0}, &outcome};
static const struct run_picture picture = {.curve = &curve,
	.name = "a-name-of-forty-seven-bytes-which-is-the-longest",
	.detail = "OUT OF BAND",
	.brief = true};

static void make_curve(void)
{
	struct rate *rate = &outcome.judgement.rate;
	for (int64_t i = 0; i < 200; i++)
		samples[i] = (struct sample){.time.ns = i * CLOCKS_NS_PER_S / 2,
			.load_un = i < 190 ? i * 1000 * UNITS_UN_PER_N : 0};
	outcome.method = method_find("astm-c39");
	outcome.area_m2 = 0.008;
	outcome.judgement.maximum_at = samples[189].time;
	outcome.judgement.maximum_un = samples[189].load_un;
	snprintf(outcome.strength_reported, sizeof(outcome.strength_reported), "23.6 MPa");
	*rate = (struct rate){.verdict = VERDICT_OUT_OF_BAND,
		.band_low_pa_s = 0.2e6,
		.band_high_pa_s = 0.3e6,
		.lowest_pa_s = 0.25e6,
		.highest_pa_s = 0.25e6,
		.from = samples[90].time,
		.to = samples[170].time,
		.window_ns = 5 * CLOCKS_NS_PER_S};
}

static struct sheet *sheet_with_pictures(size_t rows, size_t pictures)
{
	struct sheet *sheet = make_sheet(rows);
	make_curve();
	sheet_heading(sheet, "Curves");
	for (size_t i = 0; i < pictures; i++)
		sheet_picture(sheet, &picture);
	sheet_text(sheet, "what follows");
	return sheet;
}

static size_t count_text(const struct page *page, const char *text)
{
	size_t count = 0;
	for (size_t i = 0; i < page->mark_count; i++)
		count += page->marks[i].kind == PAGE_MARK_TEXT &&
			 strcmp(page->text + page->marks[i].first, text) == 0;
	return count;
}

/* Up to six companions stay on the one page, side by side on one scale. */
static void companions_on_the_page(void **state)
{
	(void)state;
	for (size_t pictures = 1; pictures <= 6; pictures++) {
		struct sheet *sheet = sheet_with_pictures(3, pictures);
		size_t count;
		struct page **pages = pages_of(sheet, &count);
		assert_int_equal(count, 1);
		check_legible(pages[0]);
		assert_int_equal(count_text(pages[0], "23.6 MPa"), pictures);
		assert_non_null(pages_find(pages[0], "what follows"));
		assert_null(pages_find(pages[0], "Curves"));
		/* Of three and more only the first one has numbers to its left. */
		assert_int_equal(count_text(pages[0], "200"), pictures <= 2 ? pictures : 1);
		destroy_pages(pages, count);
		sheet_destroy(sheet);
	}
}

/* More of them, or more text, and they have a page of their own behind everything else. */
static void companions_on_a_second_page(void **state)
{
	static const size_t cases[][2] = {{3, 7}, {45, 3}, {45, 1}, {3, 8}, {3, 17}};
	(void)state;
	for (size_t i = 0; i < sizeof(cases) / sizeof(*cases); i++) {
		struct sheet *sheet = sheet_with_pictures(cases[i][0], cases[i][1]);
		size_t count, drawn = 0;
		struct page **pages = pages_of(sheet, &count);
		assert_int_equal(count, 1 + (cases[i][1] + 7) / 8);
		assert_non_null(pages_find(pages[0], "what follows"));
		assert_non_null(pages_find(pages[1], "Curves"));
		for (size_t j = 0; j < count; j++) {
			check_legible(pages[j]);
			drawn += count_text(pages[j], "23.6 MPa");
		}
		assert_int_equal(drawn, cases[i][1]);
		destroy_pages(pages, count);
		sheet_destroy(sheet);
	}
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
		cmocka_unit_test(headings_stay_with_what_they_head),
		cmocka_unit_test(letter_where_it_is_used),
		cmocka_unit_test(html_is_escaped_and_whole),
		cmocka_unit_test(text_is_broken_before_its_margin),
		cmocka_unit_test(wide_tables),
		cmocka_unit_test(table_on_its_side),
		cmocka_unit_test(odd_characters),
		cmocka_unit_test(companions_on_the_page),
		cmocka_unit_test(companions_on_a_second_page),
		cmocka_unit_test(qr_has_its_corners),
		cmocka_unit_test(formats_by_name),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
