/* SPDX-License-Identifier: MIT
 *
 * From digits to micronewtons.
 */
#include "measure/scale.h"
#include "unit/check.h"

#include <string.h>

static const struct scale kilonewton = {UNIT_KILONEWTON, {1, 0}, 0};

static void unit_factor_and_zero(void **state)
{
	(void)state;
	int64_t load_un;
	struct reading reading = {.value = {1250, -2}, .unit = UNIT_KILONEWTON};
	assert_int_equal(scale_apply(&kilonewton, &reading, &load_un), SCALE_OK);
	assert_int_equal(load_un, 12500000000);

	/* load = value x unit x factor - zero */
	struct scale lever = {UNIT_KILONEWTON, {25, -1}, 50000000};
	assert_int_equal(scale_apply(&lever, &reading, &load_un), SCALE_OK);
	assert_int_equal(load_un, 31250000000 - 50000000);

	/* Bare counts: 0.125 N each. */
	struct scale counts = {UNIT_NEWTON, {125, -3}, 0};
	struct reading bare = {.value = {-40001, 0}, .unit = UNIT_NONE};
	assert_int_equal(scale_apply(&counts, &bare, &load_un), SCALE_OK);
	assert_int_equal(load_un, -5000125000);
}

static void another_unit_is_never_converted(void **state)
{
	(void)state;
	int64_t load_un = 42;
	struct reading pounds = {.value = {1, 0}, .unit = UNIT_POUND_FORCE};
	assert_int_equal(scale_apply(&kilonewton, &pounds, &load_un), SCALE_WRONG_UNIT);
	struct scale none = {UNIT_NONE, {1, 0}, 0};
	assert_int_equal(scale_apply(&none, &pounds, &load_un), SCALE_WRONG_UNIT);
	struct reading bare = {.value = {1, 0}};
	assert_int_equal(scale_apply(&none, &bare, &load_un), SCALE_WRONG_UNIT);
	assert_int_equal(load_un, 42);
}

static void a_pressure_is_refused_by_its_name(void **state)
{
	(void)state;
	int64_t load_un;
	struct reading reading = {.value = {200, 0}, .unit = UNIT_BAR};
	const struct scale ram = {.unit = UNIT_BAR, .factor = {5, -2}};
	assert_int_equal(scale_apply(&kilonewton, &reading, &load_un), SCALE_PRESSURE);
	assert_int_equal(scale_apply(&ram, &reading, &load_un), SCALE_OK);
	assert_int_equal(load_un, INT64_C(1000000000000));
	reading.unit = UNIT_PSI;
	assert_int_equal(scale_apply(&ram, &reading, &load_un), SCALE_PRESSURE);
}

static void too_large_is_refused(void **state)
{
	(void)state;
	int64_t load_un = 42;
	struct reading reading = {.value = {100000, 0}};
	assert_int_equal(scale_apply(&kilonewton, &reading, &load_un), SCALE_OK);
	assert_int_equal(load_un, UNITS_LOAD_UN_MAX);
	struct scale shifted = {UNIT_KILONEWTON, {1, 0}, -1};
	assert_int_equal(scale_apply(&shifted, &reading, &load_un), SCALE_TOO_LARGE);
	shifted.zero_un = INT64_MIN;
	assert_int_equal(scale_apply(&shifted, &reading, &load_un), SCALE_TOO_LARGE);
	reading.value.mantissa++;
	assert_int_equal(scale_apply(&kilonewton, &reading, &load_un), SCALE_TOO_LARGE);
}

static void a_value_marked_wrong_is_not_used(void **state)
{
	(void)state;
	int64_t load_un;
	struct reading reading = {.value = {1, 0}};
	static const unsigned wrong[] = {READING_OVER, READING_UNDER, READING_INVALID};
	for (size_t i = 0; i < sizeof(wrong) / sizeof(wrong[0]); i++) {
		reading.status = wrong[i] | READING_MOTION;
		assert_int_equal(scale_apply(&kilonewton, &reading, &load_un), SCALE_NOT_VALID);
	}
	reading.status = READING_INVALID | READING_ZERO_ERROR;
	assert_int_equal(scale_apply(&kilonewton, &reading, &load_un), SCALE_NO_ZERO);
	reading.status = READING_MOTION | READING_ZERO;
	assert_int_equal(scale_apply(&kilonewton, &reading, &load_un), SCALE_OK);
}

static void every_error_has_words(void **state)
{
	(void)state;
	for (int i = SCALE_OK; i <= SCALE_NO_ZERO; i++)
		assert_true(strlen(scale_error_text((enum scale_error)i)) > 5);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(unit_factor_and_zero),
		cmocka_unit_test(another_unit_is_never_converted),
		cmocka_unit_test(a_pressure_is_refused_by_its_name),
		cmocka_unit_test(too_large_is_refused),
		cmocka_unit_test(a_value_marked_wrong_is_not_used),
		cmocka_unit_test(every_error_has_words),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
