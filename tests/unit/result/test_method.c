/* SPDX-License-Identifier: MIT
 *
 * The table of methods against the standards, and the plans made from it.
 */
#include "base/units.h"
#include "result/methods.h"
#include "unit/check.h"

#include <stdio.h>
#include <string.h>

static const struct specimen cylinder = {.id = "D14-2",
	.shape = SHAPE_CYLINDER,
	.width_um = {100000, 100000},
	.length_um = 200000,
	.anticipated_pa = 30e6};

static struct plan plan_of(const char *name, const struct specimen *specimen)
{
	struct plan plan;
	struct message why;
	if (!method_plan(method_find(name), specimen, &plan, &why))
		fail_msg("%s: %s", name, why.text);
	return plan;
}

static void check_refused(const char *name, const struct specimen *specimen, const char *part)
{
	struct plan plan;
	struct message why = {{0}};
	assert_false(method_plan(method_find(name), specimen, &plan, &why));
	if (!strstr(why.text, part))
		fail_msg("\"%s\" does not say \"%s\"", why.text, part);
}

static void the_table_finds_its_rows(void **state)
{
	(void)state;
	for (size_t i = 0; i < methods_count(); i++) {
		const struct method *method = methods_at(i);
		struct specimen specimen = cylinder;
		while (!(method->shapes & 1U << specimen.shape))
			specimen.shape++;
		assert_ptr_equal(method_find(method->name), method);
		assert_ptr_equal(methods_built_in(method->name), method);
		assert_string_equal(methods_source(method), "");
		assert_true(i == 0 || strcmp(methods_at(i - 1)->name, method->name) < 0);
		assert_true(method->unsure_count > 0);
		assert_string_equal(method_clause(method, "rate"), "");
		struct plan plan = plan_of(method->name, &specimen);
		assert_true(plan.band_low > 0 && plan.band_low < plan.band_high);
		assert_true(plan.window_ns > 0);
	}
	assert_int_equal(methods_count(), 17);
	assert_null(method_find("astm-c40"));
	assert_null(method_find(""));
}

/* ASTM C39, 8.5: 0.25 +- 0.05 MPa/s over the latter half of the anticipated loading. */
static void c39_in_si(void **state)
{
	(void)state;
	struct plan plan = plan_of("astm-c39", &cylinder);
	assert_true(plan.rate_unit_pa == 1e6);
	assert_true(plan.band_low == 0.20);
	assert_true(plan.band_high == 0.30);
	assert_true(plan.span_from == 0.5);
	assert_true(plan.span_to == 0.9);
	assert_true(plan.basis_anticipated);
	assert_int_equal(plan.window_ns, 5 * CLOCKS_NS_PER_S);
	assert_int_equal(plan.contact_un, 0);
	/* 30 MPa on pi/4 x 100^2 mm2 is 235619.449019 N */
	assert_int_equal(plan.anticipated_load_un, 235619449019);
	check_near(plan.area_m2, 0.0078539816339744831, 2e-18);
	struct policy defaults;
	policy_defaults(&defaults);
	assert_memory_equal(&plan.policy, &defaults, sizeof(defaults));
}

/* ASTM C39, 8.5: 35 +- 7 psi/s; not the same band: 0.193053 to 0.289580 MPa/s. */
static void c39_in_inch_pound(void **state)
{
	(void)state;
	struct plan plan = plan_of("astm-c39-inch-pound", &cylinder);
	assert_true(plan.band_low == 28);
	assert_true(plan.band_high == 42);
	check_near(plan.band_low * plan.rate_unit_pa / 1e6, 0.193053, 5e-7);
	check_near(plan.band_high * plan.rate_unit_pa / 1e6, 0.289580, 5e-7);
	assert_int_equal(plan.window_ns, 5 * CLOCKS_NS_PER_S);
}

/* EN 12390-3: one rate chosen within 0.6 +- 0.2 MPa/s, held to +- 10 %. */
static void en_12390_3_around_the_chosen_rate(void **state)
{
	(void)state;
	struct specimen specimen = cylinder;
	struct plan plan = plan_of("en-12390-3", &specimen);
	assert_true(plan.band_low == 0.54);
	assert_true(plan.band_high == 0.66);
	assert_true(plan.span_from == 0.3);
	assert_false(plan.basis_anticipated);
	assert_int_equal(plan.window_ns, 10 * CLOCKS_NS_PER_S);
	static const struct {
		double chosen, low, high;
	} bands[] = {{0.4, 0.36, 0.44}, {0.5, 0.45, 0.55}, {0.7, 0.63, 0.77}, {0.8, 0.72, 0.88}};
	for (size_t i = 0; i < sizeof(bands) / sizeof(bands[0]); i++) {
		specimen.chosen_rate_pa_s = bands[i].chosen * UNITS_PASCAL_PER_MPA;
		plan = plan_of("en-12390-3", &specimen);
		assert_true(plan.band_low == bands[i].low);
		assert_true(plan.band_high == bands[i].high);
	}
	char ends[64];
	specimen.chosen_rate_pa_s = 0.5e6;
	plan = plan_of("en-12390-3", &specimen);
	snprintf(ends, sizeof(ends), "%.15g %.15g", plan.band_low, plan.band_high);
	assert_string_equal(ends, "0.45 0.55");
}

static void check_band(const char *name, const struct specimen *specimen, double low, double high,
	double tolerance)
{
	struct plan plan = plan_of(name, specimen);
	double unit = plan.rate_unit_pa * plan.area_m2;
	check_near(plan.band_low * unit, low, tolerance);
	check_near(plan.band_high * unit, high, tolerance);
}

/* Bands as forces in N/s. IS 516:2021 (read): 14 MPa/min on a cube of 150 mm are 5.25 kN/s; the
 * rates of C109, C78, C496, AS 1012.9 and JIS A 1108 are values from memory. The forces of the
 * others are own arithmetic. */
static void bands_of_other_methods(void **state)
{
	(void)state;
	const struct specimen mortar = {
		.shape = SHAPE_CUBE, .width_um = {50000, 50000}, .length_um = 50000};
	const struct specimen mortar_2_in = {
		.shape = SHAPE_CUBE, .width_um = {50800, 50800}, .length_um = 50800};
	const struct specimen beam = {
		.shape = SHAPE_BEAM, .width_um = {150000, 150000}, .length_um = 450000};
	struct specimen large = cylinder, cube = mortar;
	large.width_um[0] = large.width_um[1] = 150000;
	large.length_um = 300000;
	cube.width_um[0] = cube.width_um[1] = cube.length_um = 150000;
	struct plan plan = plan_of("astm-c109", &mortar);
	assert_string_equal(rate_unit_text(plan.unit), "N/s");
	check_band("astm-c109", &mortar, 900, 1800, 1e-9);
	check_near(plan.band_low * plan.rate_unit_pa, 0.36e6, 1e-6);
	check_near(plan.band_high * plan.rate_unit_pa, 0.72e6, 1e-6);
	plan = plan_of("astm-c109-inch-pound", &mortar_2_in);
	check_near(plan.band_low * plan.rate_unit_pa / UNITS_PASCAL_PER_PSI, 50, 1e-9);
	check_near(plan.band_high * plan.rate_unit_pa / UNITS_PASCAL_PER_PSI, 100, 1e-9);
	check_band("astm-c496", &large, 49.5e3 / 60, 99.0e3 / 60, 1);
	check_band("astm-c78", &beam, 6.75e3 / 60, 9.0e3 / 60, 1e-9);
	plan = plan_of("as-1012.9", &large);
	check_near(plan.band_low * plan.rate_unit_pa, 0.3e6, 1e-6);
	check_near(plan.band_high * plan.rate_unit_pa, 0.3667e6, 100);
	plan = plan_of("is-516", &cube);
	check_near((plan.band_low + plan.band_high) / 2 * plan.rate_unit_pa * plan.area_m2, 5250,
		1e-9);
	plan = plan_of("jis-a-1108", &large);
	assert_true(plan.band_low == 0.2 && plan.band_high == 1.0);
	/* EN 12390-3, 150 mm cube at 0.4, 0.6 and 0.8 MPa/s: 9, 13.5 and 18 kN/s */
	check_band("en-12390-3", &cube, 13.5e3 * 0.9, 13.5e3 * 1.1, 1e-6);
}

/* ASTM C39: 100 mm 1.571 to 2.356, 150 mm 3.534 to 5.301, 75 mm 0.884 to 1.325 kN/s; 4 in 351.86 to
 * 527.79, 6 in 791.68 to 1187.52 lbf/s. */
static void c39_bands_as_forces(void **state)
{
	(void)state;
	static const struct {
		const char *method;
		int64_t width_um;
		double low_n, high_n, tolerance;
	} rows[] = {{"astm-c39", 100000, 1571, 2356, 0.5}, {"astm-c39", 150000, 3534, 5301, 0.5},
		{"astm-c39", 75000, 884, 1325, 0.5}, {"astm-c39", 50000, 393, 589, 0.5},
		{"astm-c39-inch-pound", 101600, 351.86 * UNITS_NEWTON_PER_LBF,
			527.79 * UNITS_NEWTON_PER_LBF, 0.03},
		{"astm-c39-inch-pound", 152400, 791.68 * UNITS_NEWTON_PER_LBF,
			1187.52 * UNITS_NEWTON_PER_LBF, 0.03}};
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		struct specimen specimen = cylinder;
		specimen.width_um[0] = specimen.width_um[1] = rows[i].width_um;
		specimen.length_um = 2 * rows[i].width_um;
		check_band(rows[i].method, &specimen, rows[i].low_n, rows[i].high_n,
			rows[i].tolerance);
	}
}

/* ASTM C1314: the second half in one to two minutes. */
static void a_time_in_place_of_a_band(void **state)
{
	(void)state;
	struct specimen prism = {.shape = SHAPE_PRISM,
		.width_um = {200000, 100000},
		.length_um = 300000,
		.anticipated_pa = 12e6};
	struct plan plan = plan_of("astm-c1314", &prism);
	assert_true(plan.time_low_s == 60 && plan.time_high_s == 120);
	assert_true(plan.span_from == 0.5 && plan.span_to == 1);
	assert_true(plan.basis_anticipated);
	assert_true(plan.band_low == 0.05 && plan.band_high == 0.1);
	prism.anticipated_pa = 0;
	check_refused("astm-c1314", &prism, "state the anticipated strength");
	prism.anticipated_pa = 12e6;
	prism.chosen_rate_pa_s = 0.1e6;
	check_refused("astm-c1314", &prism, "gives a time");
}

static void rates_that_cannot_be_chosen_are_refused(void **state)
{
	(void)state;
	struct specimen specimen = cylinder;
	specimen.chosen_rate_pa_s = 0.399e6;
	check_refused("en-12390-3", &specimen,
		"chosen rate 0.399 MPa/s is outside the 0.4 to 0.8 MPa/s that EN 12390-3 allows");
	specimen.chosen_rate_pa_s = 0.801e6;
	check_refused("en-12390-3", &specimen, "chosen rate 0.801");
	specimen.chosen_rate_pa_s = 1e300;
	check_refused("en-12390-3", &specimen, "is no loading rate");
	specimen.chosen_rate_pa_s = 0.25e6;
	check_refused("astm-c39", &specimen,
		"ASTM C39/C39M (SI) fixes the rate at 0.2 to 0.3 MPa/s: a rate cannot be chosen");
	check_refused("astm-c39-inch-pound", &specimen, "28 to 42 psi/s");
}

static void impossible_specimens_are_refused(void **state)
{
	(void)state;
	struct specimen specimen = cylinder;
	specimen.width_um[0] = specimen.width_um[1] = 0;
	check_refused("astm-c39", &specimen, "diameter 0.000 mm");
	specimen = cylinder;
	specimen.anticipated_pa = NAN;
	check_refused("astm-c39", &specimen, "anticipated strength");
	specimen = cylinder;
	specimen.width_um[0] = specimen.width_um[1] = specimen.length_um = 1000000;
	specimen.anticipated_pa = 200e6;
	check_refused("astm-c39", &specimen, "beyond the 100 MN");
}

static void without_a_specimen_there_is_no_area(void **state)
{
	(void)state;
	struct plan plan = plan_of("astm-c39", NULL);
	assert_true(plan.area_m2 == 0);
	assert_int_equal(plan.anticipated_load_un, 0);
	assert_true(plan.band_low == 0.20);
}

static void a_specimen_without_a_name_makes_a_plan(void **state)
{
	(void)state;
	struct specimen specimen = cylinder;
	specimen.id[0] = '\0';
	specimen.anticipated_pa = 0;
	assert_int_equal(plan_of("astm-c39", &specimen).anticipated_load_un, 0);
}

static bool may_register(const char *name, const struct specimen *specimen, struct message *why)
{
	why->text[0] = '\0';
	return method_specimen_check(method_find(name), specimen, why);
}

static void registering_asks_for_what_the_method_is_written_for(void **state)
{
	(void)state;
	struct message why;
	struct specimen specimen = cylinder;
	assert_true(may_register("astm-c39", &specimen, &why));
	specimen.length_um = 0;
	assert_true(may_register("astm-c39", &specimen, &why));
	specimen.length_um = 100000;
	assert_true(may_register("astm-c39", &specimen, &why));
	specimen.length_um = 99999;
	assert_false(may_register("astm-c39", &specimen, &why));
	assert_non_null(strstr(why.text, "has no factor below 1.00"));
	assert_true(may_register("en-12390-3", &specimen, &why));

	struct specimen cube = {
		.shape = SHAPE_CUBE, .width_um = {150000, 150000}, .length_um = 150000};
	assert_false(may_register("astm-c39", &cube, &why));
	assert_non_null(strstr(why.text, "is written for cylinders, not for a cube"));
	assert_false(may_register("astm-c39-inch-pound", &cube, &why));
	assert_true(may_register("en-12390-3", &cube, &why));
	/* The rate of a cube may still be judged by it. */
	check_near(plan_of("astm-c39", &cube).area_m2, 0.0225, 1e-18);

	cube.chosen_rate_pa_s = 1e6;
	assert_false(may_register("en-12390-3", &cube, &why));
	assert_non_null(strstr(why.text, "chosen rate 1 MPa/s"));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(the_table_finds_its_rows),
		cmocka_unit_test(c39_in_si),
		cmocka_unit_test(c39_in_inch_pound),
		cmocka_unit_test(en_12390_3_around_the_chosen_rate),
		cmocka_unit_test(bands_of_other_methods),
		cmocka_unit_test(c39_bands_as_forces),
		cmocka_unit_test(a_time_in_place_of_a_band),
		cmocka_unit_test(rates_that_cannot_be_chosen_are_refused),
		cmocka_unit_test(impossible_specimens_are_refused),
		cmocka_unit_test(without_a_specimen_there_is_no_area),
		cmocka_unit_test(a_specimen_without_a_name_makes_a_plan),
		cmocka_unit_test(registering_asks_for_what_the_method_is_written_for),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
