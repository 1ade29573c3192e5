/* SPDX-License-Identifier: MIT
 *
 * What is checked of a specimen before its test, against ASTM C39 and C1231 (limits from memory but
 * for the 2 %).
 */
#include "base/units.h"
#include "result/detail.h"
#include "unit/check.h"

#include <string.h>

static struct specimen specimen;
static struct detail detail;
static struct detail_flags flags;
static struct message why;

static void set_up(void)
{
	specimen = (struct specimen){
		.width_um = {150000, 150000}, .length_um = 300000, .anticipated_pa = 30e6};
	detail_init(&detail);
	detail.moist = DETAIL_MOIST_YES;
	why.text[0] = '\0';
}

static bool check(int uses)
{
	return detail_check(method_find("astm-c39"), &specimen, &detail, uses, &flags, &why);
}

static void check_flag(int uses, const char *part)
{
	if (!check(uses))
		fail_msg("refused: %s", why.text);
	for (size_t i = 0; i < flags.count; i++) {
		if (strstr(flags.flags[i].text, part))
			return;
	}
	fail_msg("no flag says \"%s\"", part);
}

static void a_good_specimen_has_no_flag(void **state)
{
	(void)state;
	set_up();
	assert_true(check(0));
	assert_int_equal(flags.count, 0);
}

static void what_is_not_tested_is_refused(void **state)
{
	(void)state;
	set_up();
	specimen.width_um[1] = 153000; /* 2 % exactly is still tested */
	assert_true(check(0));
	specimen.width_um[1] = 153250;
	assert_false(check(0));
	set_up();
	specimen.width_um[0] = 153250;
	assert_false(check(0));
	/* a method without such a rule */
	assert_true(detail_check(method_find("jis-a-1108"), &specimen, &detail, 0, &flags, &why));
	set_up();
	detail.out_of_square_udeg = 500000;
	assert_true(check(0));
	detail.out_of_square_udeg = 510000;
	assert_false(check(0));
	assert_non_null(strstr(why.text, "0.51 degrees out of square"));
	set_up();
	detail.out_of_plane_um = 50;
	assert_true(check(0));
	detail.out_of_plane_um = 60;
	assert_false(check(0));
	detail.ends = DETAIL_ENDS_BONDED; /* a cap makes it plane */
	assert_true(check(0));
}

/* Any diameter from any other, not only the two that would be averaged. */
static void several_diameters(void **state)
{
	(void)state;
	set_up();
	const int64_t widths[] = {150000, 150250, 152750, 150500};
	memcpy(detail.widths_um, widths, sizeof widths);
	detail.width_count = 4;
	assert_int_equal(detail_mean_um(widths, 4), 150875);
	assert_true(check(0));
	detail.widths_um[2] = 153250;
	assert_false(check(0));
	assert_non_null(strstr(why.text, "150.000 mm and 153.250 mm differ by more than 2 %"));
	detail.widths_um[2] = 150100;
	check_flag(0, "150.100 mm is not to the nearest");
	/* what was measured counts for the rule, not the mean of the lot */
	set_up();
	detail.reduced = true;
	specimen.width_um[0] = specimen.width_um[1] = 150083;
	assert_true(check(0));
	assert_int_equal(flags.count, 0);
}

static void what_is_noted_is_a_flag(void **state)
{
	(void)state;
	set_up();
	detail.moist = DETAIL_MOIST_NO;
	check_flag(0, "not kept moist");
	set_up();
	specimen.width_um[0] = 150100;
	check_flag(0, "150.100 mm is not to the nearest 0.25 mm");
	set_up();
	specimen.length_um = 250000;
	check_flag(0, "length / diameter 1.67 is outside 1.8 to 2.2");
	set_up();
	specimen.length_um = 0; /* not measured */
	assert_true(check(0));
	assert_int_equal(flags.count, 0);
	/* in inches where the method is: 152.65 mm are 6.0098 in */
	set_up();
	specimen.width_um[0] = 152650;
	assert_true(detail_check(
		method_find("astm-c39-inch-pound"), &specimen, &detail, 0, &flags, &why));
	assert_string_equal(flags.flags[0].text,
		"6.010 in is not to the nearest 0.01 in, to which ASTM C39/C39M (inch-pound) has "
		"widths measured");
}

/* ASTM C1231: hardness against strength, and uses. */
static void pads(void **state)
{
	(void)state;
	set_up();
	detail.ends = DETAIL_ENDS_UNBONDED;
	check_flag(0, "state their hardness");
	detail.pad_hardness = 50;
	strcpy(detail.pad, "P7");
	assert_true(check(89));
	assert_int_equal(flags.count, 0);
	check_flag(90, "pads P7 were used 90 times of 100");
	check_flag(100, "may be 100 times: replace them");
	specimen.anticipated_pa = 10e6;
	assert_true(check(0));
	assert_int_equal(flags.count, 0);
	specimen.anticipated_pa = 40e6;
	assert_true(check(0));
	assert_int_equal(flags.count, 0);
	specimen.anticipated_pa = 9.9e6;
	check_flag(0, "no pads of hardness 50 for 10 MPa");
	specimen.anticipated_pa = 45e6;
	check_flag(0, "no pads of hardness 50 for 45 MPa");
	detail.pad_hardness = 70;
	assert_true(check(0));
	assert_int_equal(flags.count, 0);
	specimen.anticipated_pa = 60e6;
	check_flag(0, "need the qualification tests");
	check_flag(45, "45 times of 50");
}

/* ASTM C39, section 9, mass over volume, to 10 kg/m3 or 1 lb/ft3 (values from memory), on numbers
 * of our own: 12.95 kg, 305 mm, 151.5 mm: 2355.35, reported 2360; 28.5 lb, 6 x 12 in: 145.149,
 * reported 145. */
static void densities(void **state)
{
	(void)state;
	char text[32];
	set_up();
	specimen.width_um[0] = specimen.width_um[1] = 151500;
	specimen.length_um = 305000;
	detail.mass_mg = 12950000;
	double density = detail_density_kg_m3(&specimen, &detail);
	check_near(density, 2355.35, 0.005);
	detail_density_text(method_find("astm-c39"), density, text, sizeof text);
	assert_string_equal(text, "2360 kg/m3");
	specimen.width_um[0] = specimen.width_um[1] = 152400;
	specimen.length_um = 304800;
	detail.mass_mg = 12927383; /* 28.5 x 453.59237 g */
	density = detail_density_kg_m3(&specimen, &detail);
	check_near(density / 16.01846337396, 145.149, 5e-4);
	detail_density_text(method_find("astm-c39-inch-pound"), density, text, sizeof text);
	assert_string_equal(text, "145 lb/ft3");
	detail.mass_mg = 0;
	detail_density_text(method_find("astm-c39"), detail_density_kg_m3(&specimen, &detail), text,
		sizeof text);
	assert_string_equal(text, "");
}

/* One in ten or three a day, whichever is greater; one lot whose diameters agree within 0.5 mm. */
static void reduced_measuring(void **state)
{
	(void)state;
	const struct method *c39 = method_find("astm-c39");
	static const size_t counts[][2] = {
		{2, 2}, {3, 3}, {12, 3}, {30, 3}, {31, 4}, {40, 4}, {41, 5}};
	for (size_t i = 0; i < sizeof counts / sizeof counts[0]; i++)
		assert_int_equal(detail_reduced_count(c39, counts[i][0]), counts[i][1]);
	const int64_t close[] = {150000, 150500, 150250}, wide[] = {150000, 150510, 150250};
	int64_t mean_um;
	assert_true(detail_reduced(c39, close, 3, 12, &mean_um, &why));
	assert_int_equal(mean_um, 150250);
	assert_false(detail_reduced(c39, close, 2, 12, &mean_um, &why));
	assert_non_null(strstr(why.text, "3 must be measured, not 2"));
	assert_false(detail_reduced(c39, wide, 3, 12, &mean_um, &why));
	assert_non_null(strstr(why.text, "measure each specimen"));
	assert_false(detail_reduced(method_find("astm-c42"), close, 3, 12, &mean_um, &why));
}

/* Whatever is stated alone is something. */
static void nothing_and_something(void **state)
{
	(void)state;
	struct detail empty;
	detail_init(&empty);
	assert_true(detail_is_empty(&empty));
	struct detail some[12];
	for (size_t i = 0; i < 12; i++)
		detail_init(&some[i]);
	some[0].intended_age_ns = 1;
	some[1].mass_mg = 1;
	some[2].ends = DETAIL_ENDS_AS_CAST;
	strcpy(some[3].pad, "P");
	some[4].pad_hardness = 50;
	some[5].out_of_square_udeg = 0;
	some[6].out_of_plane_um = 0;
	some[7].moist = DETAIL_MOIST_NO;
	strcpy(some[8].lot, "L");
	some[9].reduced = true;
	some[10].width_count = 1;
	some[11].length_count = 1;
	for (size_t i = 0; i < 12; i++)
		assert_false(detail_is_empty(&some[i]));
}

static void words(void **state)
{
	(void)state;
	enum detail_ends ends;
	enum detail_moist moist;
	assert_true(detail_ends_parse("unbonded", &ends));
	assert_int_equal(ends, DETAIL_ENDS_UNBONDED);
	assert_string_equal(detail_ends_text(DETAIL_ENDS_AS_CAST), "as cast");
	assert_false(detail_ends_parse("glued", &ends));
	assert_true(detail_moist_parse("no", &moist));
	assert_string_equal(detail_moist_text(moist), "no");
	assert_false(detail_moist_parse("maybe", &moist));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_good_specimen_has_no_flag),
		cmocka_unit_test(what_is_not_tested_is_refused),
		cmocka_unit_test(several_diameters),
		cmocka_unit_test(what_is_noted_is_a_flag),
		cmocka_unit_test(pads),
		cmocka_unit_test(densities),
		cmocka_unit_test(reduced_measuring),
		cmocka_unit_test(nothing_and_something),
		cmocka_unit_test(words),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
