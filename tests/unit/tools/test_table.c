/* SPDX-License-Identifier: MIT */
#include "../check.h"
#include "table.h"

#include <locale.h>
#include <stdlib.h>

static void check_printed(const struct table *table, const char *expected)
{
	char *printed;
	size_t size;
	FILE *out = open_memstream(&printed, &size);
	assert_non_null(out);
	table_print(table, out);
	fclose(out);
	assert_string_equal(printed, expected);
	free(printed);
}

static void columns_are_as_wide_as_their_widest_text(void **state)
{
	static const char *const cells[] = {
		"run", "specimen", "load", "1", "A", "7.5", "12", "B-long-name", "1234.5"};
	struct table table;
	(void)state;
	table_init(&table, "rlr");
	for (size_t i = 0; i < sizeof(cells) / sizeof(*cells); i++)
		assert_true(table_add(&table, cells[i]));
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
	for (size_t i = 0; i < 4; i++)
		assert_true(table_add(&table, cells[i]));
	check_printed(&table, "Würfel  x\nabcdef  y\n");
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
		cmocka_unit_test(an_unfinished_row_is_not_printed),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
