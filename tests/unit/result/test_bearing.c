/* SPDX-License-Identifier: MIT
 *
 * ASTM C39: the face is at least 3 % wider than the specimen (value from memory).
 */
#include "result/bearing.h"

#include "unit/check.h"

static void a_face_of_just_three_percent_more_fits(void **state)
{
	(void)state;
	const struct specimen specimen = {
		.id = "A", .shape = SHAPE_CYLINDER, .width_um = {100000, 99500}};
	struct bearing bearing = {.width_um = 103000};
	struct message why;

	assert_true(bearing_fits(&bearing, &specimen, &why));
	bearing.width_um--;
	assert_false(bearing_fits(&bearing, &specimen, &why));
	bearing.width_um = 0; /* not stated */
	assert_true(bearing_fits(&bearing, &specimen, &why));
}

static void a_cube_needs_its_diagonal_on_a_round_face(void **state)
{
	(void)state;
	const struct specimen cube = {.id = "B", .shape = SHAPE_CUBE, .width_um = {150000, 150000}};
	struct message why;

	assert_true(bearing_fits(&(struct bearing){154500, true}, &cube, &why));
	assert_false(bearing_fits(&(struct bearing){154499, true}, &cube, &why));
	assert_false(bearing_fits(&(struct bearing){218000, false}, &cube, &why));
	assert_true(bearing_fits(&(struct bearing){218500, false}, &cube, &why)); /* 218.496 */
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_face_of_just_three_percent_more_fits),
		cmocka_unit_test(a_cube_needs_its_diagonal_on_a_round_face),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
