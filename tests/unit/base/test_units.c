/* SPDX-License-Identifier: MIT
 *
 * Units of force: their names, and the exact factors.
 */
#include "base/units.h"
#include "unit/check.h"
#include "unit/random.h"

#include <string.h>

static void names_are_read_as_written(void **state)
{
	(void)state;
	static const struct {
		const char *text;
		enum unit unit;
	} names[] = {{"N", UNIT_NEWTON}, {"kN", UNIT_KILONEWTON}, {"MN", UNIT_MEGANEWTON},
		{"kgf", UNIT_KILOGRAM_FORCE}, {"kg", UNIT_KILOGRAM_FORCE}, {"tf", UNIT_TONNE_FORCE},
		{"t", UNIT_TONNE_FORCE}, {"lbf", UNIT_POUND_FORCE}, {"lb", UNIT_POUND_FORCE},
		{"kip", UNIT_KIP}, {"bar", UNIT_BAR}, {"psi", UNIT_PSI}, {"MPa", UNIT_MEGAPASCAL},
		{"kPa", UNIT_KILOPASCAL}, {"Pa", UNIT_PASCAL}, {"counts", UNIT_COUNTS},
		{"mV/V", UNIT_MV_PER_V}};
	for (size_t i = 0; i < sizeof(names) / sizeof(names[0]); i++) {
		enum unit unit;
		assert_true(units_parse(names[i].text, strlen(names[i].text), &unit));
		assert_int_equal(unit, names[i].unit);
	}
	static const char *const refused[] = {"", "KN", "kn", "n", "k", "kNm", "lbs", "mN"};
	for (size_t i = 0; i < sizeof(refused) / sizeof(refused[0]); i++) {
		enum unit unit;
		assert_false(units_parse(refused[i], strlen(refused[i]), &unit));
	}
}

static void written_names_read_back(void **state)
{
	(void)state;
	for (int i = UNIT_NEWTON; i < UNIT_COUNT; i++) {
		enum unit unit;
		const char *text = units_text((enum unit)i);
		assert_true(units_parse(text, strlen(text), &unit));
		assert_int_equal(unit, i);
	}
	assert_string_equal(units_text(UNIT_NONE), "");
}

static void check_load(enum unit unit, int64_t mantissa, int exponent, int64_t expected_un)
{
	int64_t load_un;
	assert_true(units_load_un(unit, (struct decimal){mantissa, exponent}, &load_un));
	assert_int_equal(load_un, expected_un);
}

/* NIST SP 811: 1 lbf = 4.448 221 615 260 5 N and 1 kgf = 9.806 65 N, both exact. */
static void factors_are_exact(void **state)
{
	(void)state;
	check_load(UNIT_NEWTON, 1, 0, 1000000);
	check_load(UNIT_NEWTON, 123456789, -6, 123456789);
	check_load(UNIT_KILONEWTON, 1250, -2, 12500000000);
	check_load(UNIT_KILONEWTON, 1, -9, 1);
	check_load(UNIT_MEGANEWTON, -2, 0, -2000000000000);
	check_load(UNIT_KILOGRAM_FORCE, 1, 0, 9806650);
	check_load(UNIT_TONNE_FORCE, 1, 0, 9806650000);
	check_load(UNIT_POUND_FORCE, 10000000, 0, 44482216152605);
	check_load(UNIT_KIP, 10000, 0, 44482216152605);
	/* One pound ends in half a micronewton and a little: 4448221.6152605 */
	check_load(UNIT_POUND_FORCE, 1, 0, 4448222);
	check_load(UNIT_POUND_FORCE, -1, 0, -4448222);
}

static void what_is_no_force_needs_a_factor(void **state)
{
	(void)state;
	static const struct {
		enum unit unit;
		enum units_kind kind;
		struct decimal value, factor;
		int64_t load_un;
	} cases[] = {
		/* 200 bar on 500 cm2 */
		{UNIT_BAR, UNITS_PRESSURE, {200, 0}, {5, -2}, 1000000000000},
		{UNIT_MEGAPASCAL, UNITS_PRESSURE, {20, 0}, {5, -2}, 1000000000000},
		{UNIT_KILOPASCAL, UNITS_PRESSURE, {20000, 0}, {5, -2}, 1000000000000},
		{UNIT_PASCAL, UNITS_PRESSURE, {2, 7}, {5, -2}, 1000000000000},
		/* 1000 psi on 10 square inches, 0.0064516 m2, are 10 000 lbf, and one lbf is
		 * 4.4482216152605 N (NIST SP 811): fourteen digits of psi, 0.01 uN of that */
		{UNIT_PSI, UNITS_PRESSURE, {1000, 0}, {64516, -7}, 44482216153},
		{UNIT_COUNTS, UNITS_SIGNAL, {4000, 0}, {25, -1}, 10000000000},
		{UNIT_MV_PER_V, UNITS_SIGNAL, {2, 0}, {5, 5}, 1000000000000},
	};
	for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); i++) {
		int64_t load_un;
		assert_int_equal(units_kind(cases[i].unit), cases[i].kind);
		assert_false(units_load_un(cases[i].unit, cases[i].value, &load_un));
		assert_true(
			units_product_un(cases[i].unit, cases[i].value, cases[i].factor, &load_un));
		assert_int_equal(load_un, cases[i].load_un);
	}
	assert_int_equal(units_kind(UNIT_KIP), UNITS_FORCE);
	assert_int_equal(units_kind(UNIT_NONE), UNITS_NO_KIND);
}

static void the_macros_agree_with_the_table(void **state)
{
	(void)state;
	int64_t load_un;
	assert_true(units_load_un(UNIT_POUND_FORCE, (struct decimal){1, 6}, &load_un));
	check_near(UNITS_NEWTON_PER_LBF * 1e6, (double)load_un / 1e6, 1e-6);
	double inch_m = (double)UNITS_UM_PER_INCH / 1e6;
	check_near(UNITS_PASCAL_PER_PSI, UNITS_NEWTON_PER_LBF / (inch_m * inch_m), 1e-11);
	/* 1 MPa = 145.0377377302 psi */
	check_near(UNITS_PASCAL_PER_MPA / UNITS_PASCAL_PER_PSI, 145.0377377302, 5e-11);
}

static void half_a_micronewton_goes_to_even(void **state)
{
	(void)state;
	check_load(UNIT_NEWTON, 25, -7, 2);
	check_load(UNIT_NEWTON, 35, -7, 4);
	check_load(UNIT_NEWTON, -25, -7, -2);
	check_load(UNIT_NEWTON, 1, -18, 0);
	check_load(UNIT_POUND_FORCE, 999999999999999999, -18, 4448222);
}

static void what_is_too_large_is_refused(void **state)
{
	(void)state;
	check_load(UNIT_MEGANEWTON, 100, 0, UNITS_LOAD_UN_MAX);
	int64_t load_un = 42;
	assert_false(units_load_un(UNIT_NEWTON, (struct decimal){100000000000001, -6}, &load_un));
	assert_false(units_load_un(UNIT_MEGANEWTON, (struct decimal){-101, 0}, &load_un));
	assert_false(units_load_un(UNIT_TONNE_FORCE, (struct decimal){1, 18}, &load_un));
	assert_false(units_load_un(UNIT_NONE, (struct decimal){1, 0}, &load_un));
	assert_int_equal(load_un, 42);
	check_load(UNIT_MEGANEWTON, 0, 18, 0);
}

static void a_factor_is_rounded_in_once(void **state)
{
	(void)state;
	int64_t load_un;
	/* 0.5 uN x 3 = 1.5 uN, and not 0 x 3 */
	assert_true(units_product_un(
		UNIT_NEWTON, (struct decimal){5, -7}, (struct decimal){3, 0}, &load_un));
	assert_int_equal(load_un, 2);
	/* 36 digits of product are cut to 24, which leaves it above the tie at 4448221615260.5 uN.
	 */
	assert_true(units_product_un(UNIT_POUND_FORCE, (struct decimal){999999999999999999, -12},
		(struct decimal){100000000000000001, -17}, &load_un));
	assert_int_equal(load_un, 4448221615261);
}

/* Whether a product fits 64 bits decides about the way to it, never about the load. */
static void zeros_behind_the_digits_change_nothing(void **state)
{
	(void)state;
	struct random random = {.state = 1};
	for (int i = 0; i < 100000; i++) {
		enum unit unit = (enum unit)(1 + random_pick(&random, UNIT_COUNT - 1));
		int shift = 24 + random_pick(&random, 39);
		struct decimal value = {
			(int64_t)random_bits(&random) >> shift, random_pick(&random, 12) - 9};
		struct decimal factor = {
			1 + random_pick(&random, 300), random_pick(&random, 4) - 3};
		struct decimal longer = {value.mantissa * 100000, value.exponent - 5};
		struct decimal larger = {factor.mantissa * 1000000000, factor.exponent - 9};
		int64_t one = 0, other = 0;
		bool fits = units_product_un(unit, value, factor, &one);
		assert_int_equal(units_product_un(unit, longer, larger, &other), fits);
		assert_int_equal(one, other);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(names_are_read_as_written),
		cmocka_unit_test(written_names_read_back),
		cmocka_unit_test(factors_are_exact),
		cmocka_unit_test(what_is_no_force_needs_a_factor),
		cmocka_unit_test(the_macros_agree_with_the_table),
		cmocka_unit_test(half_a_micronewton_goes_to_even),
		cmocka_unit_test(what_is_too_large_is_refused),
		cmocka_unit_test(a_factor_is_rounded_in_once),
		cmocka_unit_test(zeros_behind_the_digits_change_nothing),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
