/* SPDX-License-Identifier: MIT
 *
 * Decimal numbers: reading, exact scaling, rounding with ties to even, writing.
 */
#include "base/decimal.h"
#include "base/wide.h"
#include "unit/check.h"

#include <stdlib.h>
#include <string.h>

static bool parse(const char *text, struct decimal *decimal)
{
	return decimal_parse(text, strlen(text), decimal);
}

static void check_parsed(const char *text, int64_t mantissa, int exponent)
{
	struct decimal decimal;
	if (!parse(text, &decimal))
		fail_msg("\"%s\" was refused", text);
	if (decimal.mantissa != mantissa || decimal.exponent != exponent)
		fail_msg(
			"\"%s\" is %lld e %d", text, (long long)decimal.mantissa, decimal.exponent);
}

static void numbers_keep_the_digits_sent(void **state)
{
	(void)state;
	check_parsed("12.50", 1250, -2);
	check_parsed("-0.05", -5, -2);
	check_parsed("+7", 7, 0);
	check_parsed("007", 7, 0);
	check_parsed("0.000", 0, -3);
	check_parsed("5.", 5, 0);
	check_parsed(".5", 5, -1);
	check_parsed("1.25e3", 125, 1);
	check_parsed("1E-3", 1, -3);
	check_parsed("1.0e+018", 10, 17);
	check_parsed("999999999999999999", 999999999999999999, 0);
	check_parsed("0000.000000000000000001", 1, -18);
}

static void what_is_no_number_is_refused(void **state)
{
	(void)state;
	static const char *const refused[] = {"", "+", "-", ".", "-.", "e3", "1e", "1e+", "1.2.3",
		" 1", "1 ", "1,5", "0x10", "nan", "inf", "--1", "+-1", "1e19", "1e-19", "1e1000",
		"0.0000000000000000001", "1234567890123456789", "1\xc2\xa0", "\xd9\xa1"};
	for (size_t i = 0; i < sizeof(refused) / sizeof(refused[0]); i++) {
		struct decimal decimal = {42, 7};
		if (parse(refused[i], &decimal))
			fail_msg("\"%s\" was read", refused[i]);
		assert_int_equal(decimal.mantissa, 42);
		assert_int_equal(decimal.exponent, 7);
	}
}

static void only_the_given_length_is_read(void **state)
{
	(void)state;
	struct decimal decimal;
	assert_true(decimal_parse("12.5kN", 4, &decimal));
	assert_int_equal(decimal.mantissa, 125);
	assert_false(decimal_parse("12.5", 0, &decimal));
}

static void check_scaled(struct decimal decimal, int places, int64_t expected)
{
	int64_t scaled;
	assert_true(decimal_scaled(decimal, places, &scaled));
	assert_int_equal(scaled, expected);
}

static void scaling_is_exact_and_rounds_half_to_even(void **state)
{
	(void)state;
	check_scaled((struct decimal){1250, -2}, 6, 12500000);
	check_scaled((struct decimal){25, -1}, 0, 2);
	check_scaled((struct decimal){35, -1}, 0, 4);
	check_scaled((struct decimal){-25, -1}, 0, -2);
	check_scaled((struct decimal){-35, -1}, 0, -4);
	check_scaled((struct decimal){-26, -1}, 0, -3);
	check_scaled((struct decimal){2500000000000001, -15}, 0, 3);
	check_scaled((struct decimal){INT64_MAX, -18}, 0, 9);
	check_scaled((struct decimal){INT64_MAX, -18}, -18, 0);
	check_scaled((struct decimal){0, 18}, 18, 0);
	check_scaled((struct decimal){INT64_MIN, 0}, 0, INT64_MIN);
	check_scaled((struct decimal){922337203685477580, 0}, 1, 9223372036854775800);

	int64_t scaled = 42;
	assert_false(decimal_scaled((struct decimal){922337203685477581, 0}, 1, &scaled));
	assert_false(decimal_scaled((struct decimal){1, 18}, 18, &scaled));
	assert_int_equal(scaled, 42);
}

static void doubles_are_the_nearest(void **state)
{
	(void)state;
	assert_true(decimal_double((struct decimal){1250, -2}) == 12.5);
	assert_true(decimal_double((struct decimal){3, -1}) == 0.3);
	assert_true(decimal_double((struct decimal){-44482216152605, -13}) == -4.4482216152605);
	assert_true(decimal_double((struct decimal){5, 3}) == 5000.0);
}

/* ASTM E29: an exact five goes to the even digit. The values that C's own printf gets wrong, since
 * 0.15 and 0.35 are not exact in binary, are among them. */
static void ties_go_to_even_in_decimal(void **state)
{
	(void)state;
	static const struct {
		double value;
		int64_t tenths;
	} tenths[] = {{27.25, 272}, {27.35, 274}, {27.45, 274}, {27.55, 276}, {31.65, 316},
		{31.75, 318}, {0.15, 2}, {0.35, 4}, {0.25, 2}, {0.05, 0}, {36.249, 362},
		{100.04, 1000}, {-27.25, -272}, {-27.35, -274}, {0.0, 0}, {-0.0, 0}, {1e-300, 0}};
	for (size_t i = 0; i < sizeof(tenths) / sizeof(tenths[0]); i++)
		assert_int_equal(decimal_round_even(tenths[i].value, 1, -1), tenths[i].tenths);

	static const struct {
		double value;
		int64_t tens;
	} tens[] = {
		{4325, 432}, {4335, 434}, {4995, 500}, {5005, 500}, {4325.1, 433}, {4366.15, 437}};
	for (size_t i = 0; i < sizeof(tens) / sizeof(tens[0]); i++)
		assert_int_equal(decimal_round_even(tens[i].value, 10, 0), tens[i].tens);
}

static void other_steps_and_places(void **state)
{
	(void)state;
	assert_int_equal(decimal_round_even(4.267, 5, -2), 85); /* 4.25 */
	assert_int_equal(decimal_round_even(2355.35, 10, 0), 236);
	assert_int_equal(decimal_round_even(1.5e9, 1, -9), 1500000000000000000);
	assert_int_equal(decimal_round_even(5e17, 1, 18), 0);
	assert_int_equal(decimal_round_even(1.5e18, 1, 18), 2);
	assert_int_equal(decimal_round_even(4e12, 1, 13), 0);
	/* Binary noise below the twelfth digit does not decide. */
	assert_int_equal(decimal_round_even(0.1 + 0.15, 1, -1), 2);
	assert_int_equal(decimal_round_even(27.249999999999996, 1, -1), 272);
	assert_int_equal(decimal_round_even(27.2500000001, 1, -1), 273);
}

static void check_text(int64_t scaled, int places, const char *expected)
{
	char text[24];
	memset(text, 'x', sizeof(text));
	assert_int_equal(decimal_text(scaled, places, text), strlen(expected));
	assert_string_equal(text, expected);
}

static void numbers_are_written_in_full(void **state)
{
	(void)state;
	check_text(316, 1, "31.6");
	check_text(-5, 2, "-0.05");
	check_text(0, 0, "0");
	check_text(0, 3, "0.000");
	check_text(432, 0, "432");
	check_text(INT64_MIN, 0, "-9223372036854775808");
	check_text(INT64_MIN, 18, "-9.223372036854775808");
	check_text(-1, 18, "-0.000000000000000001");
}

/* Whatever decimal_text writes, decimal_parse reads back. */
static void written_numbers_read_back(void **state)
{
	(void)state;
	srand48(20260302);
	for (int i = 0; i < 20000; i++) {
		int64_t scaled = (int64_t)mrand48() * lrand48() % 1000000000000000000;
		scaled /= (int64_t)wide_power_of_ten((int)(lrand48() % 18));
		int places = (int)(lrand48() % 19);
		char text[24];
		struct decimal decimal;
		size_t length = decimal_text(scaled, places, text);
		assert_true(decimal_parse(text, length, &decimal));
		assert_int_equal(decimal.mantissa, scaled);
		assert_int_equal(decimal.exponent, -places);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(numbers_keep_the_digits_sent),
		cmocka_unit_test(what_is_no_number_is_refused),
		cmocka_unit_test(only_the_given_length_is_read),
		cmocka_unit_test(scaling_is_exact_and_rounds_half_to_even),
		cmocka_unit_test(doubles_are_the_nearest),
		cmocka_unit_test(ties_go_to_even_in_decimal),
		cmocka_unit_test(other_steps_and_places),
		cmocka_unit_test(numbers_are_written_in_full),
		cmocka_unit_test(written_numbers_read_back),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
