/* SPDX-License-Identifier: MIT */
#include "../check.h"
#include "draw/big_digits.h"

#include <string.h>

static void check_row(const char *number, size_t row, size_t scale, const char *expected)
{
	char buffer[200];
	struct text text;
	text_init(&text, buffer, sizeof(buffer));
	big_digits_row(number, row, scale, TEXT_PLOT_ASCII, &text);
	assert_string_equal(buffer, expected);
	assert_int_equal(strlen(buffer), big_digits_width(number) * scale);
}

static void draws_a_number(void **state)
{
	(void)state;
	check_row("17.0", 0, 1, "  ##    ######      ######");
	check_row("17.0", 1, 1, "####        ##      ##  ##");
	check_row("17.0", 2, 1, "  ##        ##      ##  ##");
	check_row("17.0", 3, 1, "  ##      ##        ##  ##");
	check_row("17.0", 4, 1, "######    ##    ##  ######");
}

static void scales(void **state)
{
	(void)state;
	check_row("1", 0, 2, "    ####    ");
}

static void unknown_characters_are_blank(void **state)
{
	(void)state;
	check_row("-x", 2, 1, "######        ");
	check_row("", 0, 1, "");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(draws_a_number),
		cmocka_unit_test(scales),
		cmocka_unit_test(unknown_characters_are_blank),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
