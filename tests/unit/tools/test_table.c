/* SPDX-License-Identifier: MIT */
#include "../check.h"
#include "table.h"

#include <locale.h>
#include <stdlib.h>

static void check_within(const struct table *table, size_t columns, const char *expected)
{
	char *printed;
	size_t size;
	FILE *out = open_memstream(&printed, &size);
	assert_non_null(out);
	if (columns > 0)
		table_print_within(table, columns, out);
	else
		table_print(table, out);
	fclose(out);
	assert_string_equal(printed, expected);
	free(printed);
}

static void check_printed(const struct table *table, const char *expected)
{
	check_within(table, 0, expected);
}

static void add_cells(struct table *table, const char *const *cells, size_t count)
{
	for (size_t i = 0; i < count; i++)
		assert_true(table_add(table, cells[i]));
}

static void columns_are_as_wide_as_their_widest_text(void **state)
{
	static const char *const cells[] = {
		"run", "specimen", "load", "1", "A", "7.5", "12", "B-long-name", "1234.5"};
	struct table table;
	(void)state;
	table_init(&table, "rlr");
	add_cells(&table, cells, sizeof(cells) / sizeof(*cells));
	check_printed(&table, "run  specimen       load\n"
			      "  1  A               7.5\n"
			      " 12  B-long-name  1234.5\n");
	table_finish(&table);
}

static void width_counts_columns_not_bytes(void **state)
{
	static const char *const cells[] = {"Würfel", "x", "abcdef", "y"};
	struct table table;
	(void)state;
	if (!setlocale(LC_ALL, "C.UTF-8"))
		skip();
	table_init(&table, "ll");
	add_cells(&table, cells, 4);
	check_printed(&table, "Würfel  x\nabcdef  y\n");
	table_finish(&table);
}

/* Columns that may are wrapped within themselves, the widest first, at blanks where there are any;
 * what is no terminal gets a row in one line. */
static void a_wide_table_is_wrapped(void **state)
{
	static const char *const cells[] = {"run", "name", "load", "because", "1", "north-7-long",
		"7.5", "the calliper was read wrongly", "2", "B", "1234.5", "-"};
	struct table table;
	(void)state;
	table_init(&table, "rwrw");
	add_cells(&table, cells, sizeof(cells) / sizeof(*cells));
	static const char *const whole =
		"run  name            load  because\n"
		"  1  north-7-long     7.5  the calliper was read wrongly\n"
		"  2  B             1234.5  -\n";
	check_printed(&table, whole);
	check_within(&table, 56, whole);
	/* one blank less between columns, before anything is wrapped */
	static const char *const close = "run name           load because\n"
					 "  1 north-7-long    7.5 the calliper was read wrongly\n"
					 "  2 B            1234.5 -\n";
	check_within(&table, 55, close);
	check_within(&table, 53, close);
	check_within(&table, 52,
		"run name           load because\n"
		"  1 north-7-long    7.5 the calliper was read\n"
		"                        wrongly\n"
		"  2 B            1234.5 -\n");
	/* narrower than this it does not get */
	static const char *const narrow = "run name       load because\n"
					  "  1 north-7-    7.5 the\n"
					  "    long            calliper\n"
					  "                    was read\n"
					  "                    wrongly\n"
					  "  2 B        1234.5 -\n";
	check_within(&table, 28, narrow);
	check_within(&table, 5, narrow);
	table_finish(&table);
}

/* A cut never falls within a character. */
static void wrapping_counts_characters(void **state)
{
	static const char *const cells[] = {
		"\u00e4\u00f6\u00fc\u00e4\u00f6\u00fc\u00e4\u00f6\u00fc", "x"};
	struct table table;
	(void)state;
	if (!setlocale(LC_ALL, "C.UTF-8"))
		skip();
	table_init(&table, "wl");
	add_cells(&table, cells, 2);
	check_within(&table, 10, "\u00e4\u00f6\u00fc\u00e4\u00f6\u00fc\u00e4\u00f6 x\n\u00fc\n");
	table_finish(&table);
}

static void an_unfinished_row_is_not_printed(void **state)
{
	struct table table;
	(void)state;
	table_init(&table, "ll");
	check_printed(&table, "");
	assert_true(table_add(&table, "half"));
	check_printed(&table, "");
	table_finish(&table);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(columns_are_as_wide_as_their_widest_text),
		cmocka_unit_test(width_counts_columns_not_bytes),
		cmocka_unit_test(a_wide_table_is_wrapped),
		cmocka_unit_test(wrapping_counts_characters),
		cmocka_unit_test(an_unfinished_row_is_not_printed),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
