/* SPDX-License-Identifier: MIT
 *
 * Ages from the hour of casting, against the tolerances of ASTM C39 and C109.
 */
#include "result/age.h"
#include "unit/check.h"

#include <string.h>

#define HOURS(h) ((int64_t)((h)*3600 * 1e9))

static struct utc_time at(const char *text)
{
	struct utc_time time;
	assert_true(clocks_utc_parse(text, &time));
	return time;
}

/* ASTM C39, 8.3: read. Ages that are not listed: 2 % (value from memory), 56 d 26.9 h, 14 d 6.7 h.
 */
static void tolerances_of_c39(void **state)
{
	(void)state;
	static const double rows[][2] = {
		{24, 0.5}, {72, 2}, {168, 6}, {672, 20}, {2160, 48}, {1344, 26.88}, {336, 6.72}};
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
		assert_int_equal(age_tolerance_ns(method_find("astm-c39"), HOURS(rows[i][0])),
			HOURS(rows[i][1]));
}

/* ASTM C109 (values from memory): tighter than C39's. */
static void tolerances_of_c109(void **state)
{
	(void)state;
	static const double rows[][2] = {{24, 0.5}, {72, 1}, {168, 3}, {672, 12}, {1344, 0}};
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
		assert_int_equal(age_tolerance_ns(method_find("astm-c109"), HOURS(rows[i][0])),
			HOURS(rows[i][1]));
}

static void an_age_against_its_tolerance(void **state)
{
	(void)state;
	const struct method *c39 = method_find("astm-c39");
	struct utc_time cast = at("2026-10-28T10:00+01:00");
	struct age age = age_of(c39, cast, at("2026-11-26T06:00+01:00"), HOURS(672));
	assert_int_equal(age.ns, HOURS(692));
	assert_false(age.outside); /* 20 h late: within, the limit included */
	assert_true(age_of(c39, cast, at("2026-11-26T06:01+01:00"), HOURS(672)).outside);
	assert_true(age_of(c39, cast, at("2026-11-24T13:59+01:00"), HOURS(672)).outside);
	assert_false(age_of(c39, cast, at("2026-11-24T14:00+01:00"), HOURS(672)).outside);
	assert_false(age_of(c39, cast, at("2026-12-24T14:00+01:00"), 0).outside);
	assert_int_equal(age_of(c39, (struct utc_time){0}, cast, HOURS(672)).ns, 0);
}

static void due_from_the_hour_of_casting(void **state)
{
	(void)state;
	struct age_due due = age_due(method_find("astm-c39"), at("2026-10-28T09:30Z"), HOURS(168));
	assert_int_equal(due.at.ns, at("2026-11-04T09:30Z").ns);
	assert_int_equal(due.from.ns, at("2026-11-04T03:30Z").ns);
	assert_int_equal(due.until.ns, at("2026-11-04T15:30Z").ns);
}

/* ASTM C39: in days from three days on, else in hours (value from memory). */
static void ages_are_read_and_written(void **state)
{
	(void)state;
	static const struct {
		const char *typed;
		double hours;
		const char *shown;
	} rows[] = {{"28d", 672, "28 d"}, {"28 d", 672, "28 d"}, {"24h", 24, "24 h"},
		{"2d", 48, "48 h"}, {"3d", 72, "3 d"}, {"36.5 h", 36.5, "36.5 h"},
		{"100h", 100, "4.2 d"}, {"36525d", 876600, "36525 d"}, {"1h", 1, "1 h"}};
	int64_t ns;
	char text[AGE_TEXT_SIZE];
	for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
		assert_true(age_parse(rows[i].typed, &ns));
		assert_int_equal(ns, HOURS(rows[i].hours));
		age_text(ns, text);
		assert_string_equal(text, rows[i].shown);
	}
	static const char *const wrong[] = {"", "28", "d", "-3d", "28 days", "0h", "36526d", "1e3d",
		"5x", "0.99h", "4000000000000"};
	for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++)
		assert_false(age_parse(wrong[i], &ns));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(tolerances_of_c39),
		cmocka_unit_test(tolerances_of_c109),
		cmocka_unit_test(an_age_against_its_tolerance),
		cmocka_unit_test(due_from_the_hour_of_casting),
		cmocka_unit_test(ages_are_read_and_written),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
