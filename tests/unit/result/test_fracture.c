/* SPDX-License-Identifier: MIT
 *
 * What a fracture does to a strength: ASTM C78, all values from memory.
 */
#include "base/units.h"
#include "result/fracture.h"
#include "result/outcome.h"
#include "unit/check.h"

#include <string.h>

/* 150 x 150 mm, span 450 mm: the middle third begins at 150 mm, the last result is at 127.5 mm. */
static const struct specimen beam = {
	.shape = SHAPE_BEAM, .width_um = {150000, 150000}, .length_um = 450000};

static const struct method *c78(void)
{
	return method_find("astm-c78");
}

/* 32 kN: P l / (b d^2) is 4.267 MPa, reported 4.25. With the crack at 140 mm 3 P a / (b d^2) is
 * 3 x 32000 x 140 / 150^3 = 3.982 MPa, reported 4.00. */
static void a_crack_outside_the_middle_third(void **state)
{
	(void)state;
	char text[OUTCOME_REPORTED_SIZE];
	double strength_pa = 32000 / method_area_m2(c78(), &beam);
	check_near(strength_pa / 1e6, 4.2667, 5e-5);
	double inside = fracture_strength_pa(c78(), &beam, 1, 0, strength_pa);
	outcome_strength_text(c78(), inside, text);
	assert_string_equal(text, "4.25 MPa");
	double outside = fracture_strength_pa(c78(), &beam, 2, 140000, strength_pa);
	check_near(outside / 1e6, 3.98222, 5e-6);
	outcome_strength_text(c78(), outside, text);
	assert_string_equal(text, "4.00 MPa");
	check_near(fracture_strength_pa(c78(), &beam, 3, 120000, strength_pa), 0, 0);
	/* at the third itself both formulas agree */
	check_near(fracture_strength_pa(c78(), &beam, 2, 150000, strength_pa), inside, 1e-6);
	check_near(fracture_strength_pa(c78(), &beam, 0, 0, strength_pa), strength_pa, 0);
}

static void type_and_distance_agree(void **state)
{
	(void)state;
	static const struct {
		int type;
		int64_t crack_um;
		const char *why; /* NULL: taken */
	} rows[] = {{1, 0, NULL}, {1, 150000, NULL}, {1, 200000, NULL},
		{1, 149000, "does not agree"}, {2, 0, "needs the distance"}, {2, 149000, NULL},
		{2, 127500, NULL}, {2, 127400, "does not agree"}, {2, 150000, "does not agree"},
		{3, 127400, NULL}, {3, 0, NULL}, {3, 130000, "does not agree"},
		{1, 226000, "more than half of the span"}, {4, 0, "has no fracture type 4"}};
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct message why = {""};
		bool good = fracture_check(c78(), &beam, rows[i].type, rows[i].crack_um, &why);
		if (good != !rows[i].why || (rows[i].why && !strstr(why.text, rows[i].why)))
			fail_msg("row %zu: %s", i, why.text);
	}
}

/* At the middle of the span is still in it; farther from the one support is nearer to the other. */
static void the_nearer_support(void **state)
{
	(void)state;
	struct message why;
	assert_true(fracture_check(c78(), &beam, 1, beam.length_um / 2, &why));
	assert_false(fracture_check(c78(), &beam, 1, beam.length_um / 2 + 1, &why));
	assert_non_null(strstr(why.text, "more than half of the span"));
}

/* Elsewhere a fracture changes no strength, and no distance belongs to it. */
static void a_cylinder(void **state)
{
	(void)state;
	const struct method *c39 = method_find("astm-c39");
	struct message why;
	for (int type = 1; type <= 6; type++) {
		assert_true(fracture_check(c39, &beam, type, 0, &why));
		check_near(fracture_strength_pa(c39, &beam, type, 0, 31e6), 31e6, 0);
	}
	assert_false(fracture_check(c39, &beam, 1, 10000, &why));
	assert_non_null(strstr(why.text, "is for beams"));
	/* a method that lists no types takes all of them */
	assert_true(fracture_check(method_find("jis-a-1108"), &beam, 5, 0, &why));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_crack_outside_the_middle_third),
		cmocka_unit_test(type_and_distance_agree),
		cmocka_unit_test(the_nearer_support),
		cmocka_unit_test(a_cylinder),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
