/* SPDX-License-Identifier: MIT */
#include "../check.h"
#include "draw/shown.h"

#include "result/method.h"

static void check_shown(
	enum shown_quantity quantity, bool inch_pound, double value, const char *expected)
{
	char buffer[60];
	struct text text;
	text_init(&text, buffer, sizeof(buffer));
	shown_put(quantity, inch_pound, value, &text);
	assert_string_equal(buffer, expected);
}

static void si(void **state)
{
	(void)state;
	check_shown(SHOWN_LOAD, false, 123449, "123.4 kN");
	check_shown(SHOWN_STRESS, false, 31.7e6, "31.70 MPa");
	check_shown(SHOWN_RATE, false, 0.2534e6, "0.253 MPa/s");
	check_shown(SHOWN_RATE_LIVE, false, -0.2534e6, "-0.25 MPa/s");
}

static void inch_pound(void **state)
{
	(void)state;
	/* 1 lbf = 4.4482216152605 N exactly; 1 psi = 6894.757 Pa (NIST SP 811, appendix B). */
	check_shown(SHOWN_LOAD, true, 4.4482216152605e5, "100000 lbf");
	check_shown(SHOWN_STRESS, true, 6894.757e3, "1000 psi");
	check_shown(SHOWN_RATE, true, 35 * 6894.757, "35.0 psi/s");
}

static void nonsense_is_not_shown_as_a_number(void **state)
{
	(void)state;
	check_shown(SHOWN_LOAD, false, NAN, "? kN");
	check_shown(SHOWN_LOAD, false, 1e300, "? kN");
}

static void units_follow_the_method(void **state)
{
	(void)state;
	assert_true(shown_inch_pound("astm-c39-inch-pound"));
	assert_false(shown_inch_pound("astm-c39"));
	assert_false(shown_inch_pound("no-such-method"));
}

static void check_rates(const char *name, const char *unit, const char *low, const char *high)
{
	const struct method *method = method_find(name);
	char buffer[40];
	struct text text;
	assert_non_null(method);
	double si = rate_unit_si(method->rate_unit);
	assert_string_equal(shown_rate_unit(method)->text, unit);
	text_init(&text, buffer, sizeof(buffer));
	shown_rate_limit(method, method->band_low * si, &text);
	assert_string_equal(buffer, low);
	text_init(&text, buffer, sizeof(buffer));
	shown_rate_limit(method, method->band_high * si, &text);
	assert_string_equal(buffer, high);
}

/* A limit reads as the method has it: 0.9 MPa/min, not 0.02 MPa/s. */
static void rates_as_the_method_limits_them(void **state)
{
	(void)state;
	check_rates("astm-c39", "MPa/s", "0.20", "0.30");
	check_rates("astm-c39-inch-pound", "psi/s", "28", "42");
	check_rates("astm-c78", "MPa/min", "0.9", "1.2");
	check_rates("astm-c78-inch-pound", "psi/min", "125", "175");
	check_rates("en-12390-6", "MPa/s", "0.04", "0.06");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(si),
		cmocka_unit_test(inch_pound),
		cmocka_unit_test(nonsense_is_not_shown_as_a_number),
		cmocka_unit_test(units_follow_the_method),
		cmocka_unit_test(rates_as_the_method_limits_them),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
