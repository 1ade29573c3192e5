/* SPDX-License-Identifier: MIT */
#include "measure/thrust.h"

#include "unit/check.h"

/* Four cells at the corners of a square of 200 mm. */
static const struct thrust_place square[] = {
	{-100000, -100000}, {100000, -100000}, {100000, 100000}, {-100000, 100000}};

static void equal_loads_meet_in_the_centre(void **state)
{
	(void)state;
	const int64_t loads[] = {25000000000, 25000000000, 25000000000, 25000000000};
	struct thrust_place point;

	assert_true(thrust_point(square, loads, 4, &point));
	assert_int_equal(point.x_um, 0);
	assert_int_equal(point.y_um, 0);
	assert_int_equal(thrust_distance_um(&point), 0);
}

/* Statics of a rigid plate: moments about both axes. 30 and 30 kN right, 20 and 20 left: 20 kN too
 * many at 100 mm on 100 kN is 20 mm; likewise upwards with 3-4-5 proportions. */
static void unequal_loads_move_it(void **state)
{
	(void)state;
	const int64_t right[] = {20000000000, 30000000000, 30000000000, 20000000000};
	const int64_t both[] = {23000000000, 26000000000, 37000000000, 34000000000};
	struct thrust_place point;

	assert_true(thrust_point(square, right, 4, &point));
	assert_int_equal(point.x_um, 20000);
	assert_int_equal(point.y_um, 0);
	assert_true(thrust_point(square, both, 4, &point));
	assert_int_equal(point.x_um, 5000);
	assert_int_equal(point.y_um, 18333); /* (71 - 49) * 100 mm / 120, to the micrometre */
	assert_int_equal(thrust_distance_um(&(struct thrust_place){3000, -4000}), 5000);
}

static void three_cells_tell_it_too(void **state)
{
	(void)state;
	const struct thrust_place places[] = {{0, 120000}, {-104000, -60000}, {104000, -60000}};
	const int64_t loads[] = {1000000, 2000000, 3000000};
	struct thrust_place point;

	assert_true(thrust_point(places, loads, 3, &point));
	assert_int_equal(point.x_um, 17333);
	assert_int_equal(point.y_um, -30000);
}

static void without_a_load_there_is_none(void **state)
{
	(void)state;
	const int64_t none[] = {1000, -1000, 0, 0}, pull[] = {-5, -5, -5, -5};
	struct thrust_place point;

	assert_false(thrust_point(square, none, 4, &point));
	assert_false(thrust_point(square, pull, 4, &point));
}

static void the_largest_numbers_fit(void **state)
{
	(void)state;
	const struct thrust_place far[] = {{10000000, 0}, {-10000000, 0}, {10000000, 1}};
	const int64_t loads[] = {100000000000000, 100000000000000, 100000000000000};
	struct thrust_place point;

	assert_true(thrust_point(far, loads, 3, &point));
	assert_int_equal(point.x_um, 3333333);
}

static void places_in_one_line_tell_nothing(void **state)
{
	(void)state;
	const struct thrust_place line[] = {{0, 0}, {1000, 1000}, {5000, 5000}, {-7, -7}};

	assert_true(thrust_is_told(square, 4));
	assert_true(thrust_is_told(square, 3));
	assert_false(thrust_is_told(square, 2));
	assert_false(thrust_is_told(line, 4));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(equal_loads_meet_in_the_centre),
		cmocka_unit_test(unequal_loads_move_it),
		cmocka_unit_test(three_cells_tell_it_too),
		cmocka_unit_test(without_a_load_there_is_none),
		cmocka_unit_test(the_largest_numbers_fit),
		cmocka_unit_test(places_in_one_line_tell_nothing),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
