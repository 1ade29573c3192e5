/* SPDX-License-Identifier: MIT
 *
 * What counts of a set's runs, and how many cylinders make a test.
 */
#include "../check.h"
#include "set_tests.h"

#include <string.h>

static const char *without(const struct run_row *row, const char *set, double strength_pa)
{
	struct specimen specimen = {.set = "quay-7"};
	return set_run_without(set, row, &specimen, 3, strength_pa);
}

/* One thing wrong at a time, from a run that counts; the first that is wrong is told. */
static void what_does_not_count(void **state)
{
	(void)state;
	const struct run_row good = {.closed = true, .end = END_BROKEN};
	struct run_row row = good;
	assert_null(without(&row, "quay-7", 30e6));
	assert_null(without(&row, "", 30e6)); /* of no set: whatever the specimen's */
	assert_null(set_run_without("", &row, NULL, 0, 30e6));
	assert_string_equal(without(&row, "quay-8", 30e6), "of another set, as corrected");
	assert_string_equal(
		set_run_without("quay-7", &row, NULL, 0, 30e6), "of another set, as corrected");
	assert_string_equal(without(&row, "quay-7", 0), "no result with this fracture");
	assert_string_equal(without(&row, "quay-7", NAN), "no result with this fracture");
	assert_string_equal(set_run_without("", &row, NULL, 0, 0), "no result");
	row.end = END_UNLOADED;
	assert_string_equal(without(&row, "quay-7", 30e6), "not broken");
	row.end = END_INTERRUPTED;
	assert_string_equal(without(&row, "quay-7", 30e6), "not broken");
	row.voided = true;
	assert_string_equal(without(&row, "quay-8", 30e6), "voided");
	row.closed = false;
	assert_string_equal(without(&row, "quay-8", 0), "not over yet");
}

static void check_few(size_t count, int64_t width_um, const char *part)
{
	struct set_test test = {
		.terms.rule = ACCEPTANCE_ACI_318, .count = count, .width_um = width_um};
	const char *few = set_test_too_few(&test);
	if (!part)
		assert_null(few);
	else if (!few || !strstr(few, part))
		fail_msg("%zu of %lld um: %s", count, (long long)width_um, few ? few : "enough");
	test.terms.rule = ACCEPTANCE_EN_206_INITIAL;
	assert_null(set_test_too_few(&test));
}

/* ACI 318-19, 26.12.1.1 (read): at least two of 150 mm (6 in), three of 100 mm (4 in). */
static void how_many_make_a_test(void **state)
{
	(void)state;
	check_few(1, 150000, "two cylinders");
	check_few(2, 150000, NULL);
	check_few(2, 152400, NULL);
	check_few(1, 101600, "three cylinders");
	check_few(2, 100000, "three cylinders");
	check_few(2, 101600, "three cylinders");
	check_few(3, 101600, NULL);
	check_few(3, 100000, NULL);
	check_few(4, 100000, NULL);
	/* between the sizes (this project's choice) */
	check_few(2, 125000, NULL);
	check_few(2, 124999, "three cylinders");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(what_does_not_count),
		cmocka_unit_test(how_many_make_a_test),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
