/* SPDX-License-Identifier: MIT
 *
 * From digits to micronewtons.
 */
#include "measure/scale.h"
#include "unit/check.h"
#include "unit/random.h"

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

/* Whatever came before: one after the other, readings become the loads that they are one by one. */
static void one_after_the_other_is_one_by_one(void **state)
{
	(void)state;
	const struct scale scales[] = {kilonewton, {UNIT_KILONEWTON, {25, -1}, 50000000},
		{UNIT_POUND_FORCE, {1, 0}, 0}, {UNIT_NEWTON, {-125, -3}, 7},
		{UNIT_MEGANEWTON, {1, 0}, -UNITS_LOAD_UN_MAX}};
	const enum unit units[] = {UNIT_NONE, UNIT_KILONEWTON, UNIT_POUND_FORCE, UNIT_NEWTON};
	struct random random = {.state = 3};
	for (size_t k = 0; k < sizeof(scales) / sizeof(scales[0]); k++) {
		struct scale_form form = {UNIT_NONE, 0, 0};
		struct reading reading = {.unit = UNIT_NONE};
		size_t scaled = 0;
		for (int i = 0; i < 20000; i++) {
			if (random_pick(&random, 4) == 0)
				reading.unit = units[random_pick(&random, 4)];
			if (random_pick(&random, 4) == 0)
				reading.value.exponent = random_pick(&random, 24) - 18;
			reading.status =
				random_pick(&random, 8) == 0 ? READING_INVALID : READING_ZERO;
			reading.value.mantissa =
				(int64_t)random_bits(&random) >> random_pick(&random, 64);
			int64_t one = 1, other = 1;
			enum scale_error error = scale_apply(&scales[k], &reading, &one);
			assert_int_equal(
				scale_apply_next(&scales[k], &form, &reading, &other), error);
			assert_int_equal(one, other);
			scaled += error == SCALE_OK;
		}
		assert_in_range(scaled, 1000, 19000);
	}
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
		cmocka_unit_test(one_after_the_other_is_one_by_one),
		cmocka_unit_test(every_error_has_words),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
