/* SPDX-License-Identifier: MIT */
#include "../check.h"
#include "trend_groups.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DAY_NS (86400 * CLOCKS_NS_PER_S)
/* 2026-11-23T00:00:00Z, a Monday: the week 2026-W48 begins. */
#define MONDAY_NS (INT64_C(1795392000) * CLOCKS_NS_PER_S)

static struct trend_run make_run(
	const char *press, const char *technician, int64_t day, double mean)
{
	struct trend_run run = {.started.ns = MONDAY_NS + day * DAY_NS,
		.verdict = VERDICT_IN_BAND,
		.mean = mean,
		.low = mean - 0.5,
		.high = mean + 0.5};
	snprintf(run.press, sizeof(run.press), "%s", press);
	snprintf(run.technician, sizeof(run.technician), "%s", technician);
	return run;
}

static void places_in_the_band(void **state)
{
	struct rate_row row = {.verdict = VERDICT_OUT_OF_BAND,
		.band_low_pa_s = 0.2e6,
		.band_high_pa_s = 0.3e6,
		.mean_pa_s = 0.25e6,
		.lowest_pa_s = 0.2e6,
		.highest_pa_s = 0.325e6,
		.window_ns = CLOCKS_NS_PER_S};
	struct trend_run run;
	(void)state;
	assert_true(trend_run_of(&run, &row));
	check_near(run.mean, 0, 1e-12);
	check_near(run.low, -1, 1e-12);
	check_near(run.high, 1.5, 1e-12);
	row.verdict = VERDICT_NONE;
	assert_false(trend_run_of(&run, &row));
	row.verdict = VERDICT_IN_BAND;
	row.voided = true;
	assert_false(trend_run_of(&run, &row));
	row.voided = false;
	assert_true(trend_run_of(&run, &row));
	row.window_ns = 0;
	assert_false(trend_run_of(&run, &row));
}

static void weeks_are_those_of_iso_8601(void **state)
{
	struct trend_run runs[] = {make_run("north", "", 39, 0), make_run("north", "", 6, 0.2),
		make_run("north", "", 7, 0), make_run("north", "", 0, 0.4)};
	struct trend_group *groups;
	size_t count;
	(void)state;
	assert_true(trend_groups(runs, 4, TREND_BY_WEEK, &groups, &count));
	assert_int_equal(count, 3);
	assert_string_equal(groups[0].name, "2026-W48");
	assert_int_equal(groups[0].runs, 2);
	check_near(groups[0].mean, 0.3, 1e-12);
	assert_string_equal(groups[1].name, "2026-W49");
	/* The first of January 2027 is a Friday: it belongs to the last week of 2026. */
	assert_string_equal(groups[2].name, "2026-W53");
	free(groups);
}

static void technicians(void **state)
{
	struct trend_run runs[] = {make_run("north", "mara", 0, 0), make_run("north", "", 1, 0),
		make_run("south", "mara", 2, 1), make_run("south", "mara", 3, 0.1)};
	struct trend_group *groups;
	size_t count;
	(void)state;
	runs[2].verdict = VERDICT_OUT_OF_BAND;
	assert_true(trend_groups(runs, 4, TREND_BY_TECHNICIAN, &groups, &count));
	assert_int_equal(count, 2);
	assert_string_equal(groups[0].name, "mara");
	assert_int_equal(groups[0].in_band, 2);
	assert_int_equal(groups[0].out_of_band, 1);
	check_near(groups[0].high, 0.6, 1e-12); /* median of 0.5, 1.5, 0.6 */
	check_near(groups[0].lowest, -0.5, 1e-12);
	check_near(groups[0].highest, 1.5, 1e-12);
	assert_string_equal(groups[1].name, "not entered");
	free(groups);
}

static void ranges_of_sets(void **state)
{
	struct trend_run runs[] = {make_run("north", "", 0, 0), make_run("north", "", 1, 0),
		make_run("north", "", 2, 0), make_run("north", "", 3, 0),
		make_run("north", "", 4, 0)};
	struct trend_group *groups;
	size_t count;
	(void)state;
	/* The pairs 122200, 124700 and 117300, 115600 lbf of a published example (read): ranges
	 * 2.03 and 1.46 % of their means (own arithmetic). One of no set has no range. */
	static const double loads[] = {122200, 117300, 124700, 115600, 1};
	static const char *const sets[] = {"a", "b", "a", "b", ""};
	for (size_t i = 0; i < 5; i++) {
		runs[i].strength_pa = loads[i];
		snprintf(runs[i].set, sizeof(runs[i].set), "%s", sets[i]);
	}
	assert_true(trend_groups(runs, 5, TREND_BY_PRESS, &groups, &count));
	assert_int_equal(count, 1);
	assert_int_equal(groups[0].sets, 2);
	check_near(
		groups[0].range_percent, (100 * 2500 / 123450.0 + 100 * 1700 / 116450.0) / 2, 1e-9);
	free(groups);
}

static void creep_is_found_and_noise_is_not(void **state)
{
	struct trend_run runs[40];
	struct trend_creep creep;
	(void)state;
	for (int64_t i = 0; i < 40; i++) {
		double swing = i % 2 ? 0.1 : -0.1;
		runs[i] = i % 4 < 2
				  ? make_run("north", "", i * 2, 0.05 * (double)(i * 2) / 7 + swing)
				  : make_run("south", "", i * 2, swing);
	}
	assert_true(trend_creep_of(runs, 40, "north", &creep));
	check_near(creep.per_week, 0.05, 0.005);
	assert_false(trend_creep_of(runs, 40, "south", &creep));
	/* Too few. */
	assert_false(trend_creep_of(runs, 12, "north", &creep));
	assert_false(trend_creep_of(runs, 40, "nowhere", &creep));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(places_in_the_band),
		cmocka_unit_test(weeks_are_those_of_iso_8601),
		cmocka_unit_test(technicians),
		cmocka_unit_test(ranges_of_sets),
		cmocka_unit_test(creep_is_found_and_noise_is_not),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
