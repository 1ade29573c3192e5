/* SPDX-License-Identifier: MIT
 *
 * The bounded writer.
 */
#include "base/text.h"
#include "unit/check.h"

#include <string.h>

static void pieces_follow_each_other(void **state)
{
	(void)state;
	char buffer[64];
	struct text text;
	text_init(&text, buffer, sizeof(buffer));
	assert_string_equal(buffer, "");
	text_put(&text, "a=");
	text_integer(&text, INT64_MIN);
	text_put_bytes(&text, ";;;", 1);
	text_fixed(&text, 1234, 2);
	text_put(&text, ";");
	text_fixed(&text, -5, 2);
	text_format(&text, ";%s%d", "b", 7);
	assert_string_equal(buffer, "a=-9223372036854775808;12.34;-0.05;b7");
	assert_int_equal(text.length, strlen(buffer));
	assert_false(text.overflow);
}

/* Every size from 1 up: the buffer is never overrun, the mark is there exactly when something was
 * left out, and what is there is the beginning of the whole. */
static void what_does_not_fit_is_cut_and_marked(void **state)
{
	(void)state;
	static const char whole[] = "load 12.50 kN, \"a\\u0001\"";
	for (size_t size = 1; size <= sizeof(whole) + 1; size++) {
		char buffer[sizeof(whole) + 2];
		memset(buffer, '#', sizeof(buffer));
		struct text text;
		text_init(&text, buffer, size);
		text_put(&text, "load ");
		text_fixed(&text, 1250, 2);
		text_format(&text, " %s, ", "kN");
		text_json_string(&text, "a\x01");
		size_t fits = size - 1 < strlen(whole) ? size - 1 : strlen(whole);
		assert_int_equal(strlen(buffer), fits);
		assert_int_equal(text.length, fits);
		assert_memory_equal(buffer, whole, fits);
		assert_int_equal(buffer[size], '#');
		assert_int_equal(text.overflow, size < sizeof(whole));
	}
}

static void the_mark_stays(void **state)
{
	(void)state;
	char buffer[4];
	struct text text;
	text_init(&text, buffer, sizeof(buffer));
	text_put(&text, "long");
	text_put(&text, "");
	assert_true(text.overflow);
	assert_string_equal(buffer, "lon");
}

static void json_strings_are_escaped(void **state)
{
	(void)state;
	char buffer[128];
	struct text text;
	text_init(&text, buffer, sizeof(buffer));
	text_json_string(&text, "a\"b\\c\n\r\t\b\f\x1f/\xc3\xa4\x7f");
	assert_string_equal(buffer, "\"a\\\"b\\\\c\\n\\r\\t\\b\\f\\u001f/\xc3\xa4\x7f\"");
}

static void printable_is_utf8_without_controls(void **state)
{
	(void)state;
	static const char *const printable[] = {"", "C-3 north", "\xc3\xa4", "\xe2\x89\xa4",
		"\xf0\x9f\xa7\xb1", "\xf4\x8f\xbf\xbf", "\xed\x9f\xbf", "~"};
	static const char *const not_printable[] = {"\n", "a\tb", "\x7f", "\xc2\x85", "\x80",
		"\xc3", "\xc3(", "\xc0\xaf", "\xe0\x80\xaf", "\xed\xa0\x80", "\xf4\x90\x80\x80",
		"\xf0\x80\x80\x80", "\xff", "\xf8\x88\x80\x80\x80", "\xe2\x89"};
	for (size_t i = 0; i < sizeof(printable) / sizeof(printable[0]); i++)
		assert_true(text_is_printable(printable[i]));
	for (size_t i = 0; i < sizeof(not_printable) / sizeof(not_printable[0]); i++)
		assert_false(text_is_printable(not_printable[i]));
	for (size_t i = 0; i < sizeof(not_printable) / sizeof(not_printable[0]); i++) {
		char text[16];
		strcpy(text, not_printable[i]);
		text_make_printable(text);
		assert_true(text_is_printable(text));
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(pieces_follow_each_other),
		cmocka_unit_test(what_does_not_fit_is_cut_and_marked),
		cmocka_unit_test(the_mark_stays),
		cmocka_unit_test(json_strings_are_escaped),
		cmocka_unit_test(printable_is_utf8_without_controls),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
