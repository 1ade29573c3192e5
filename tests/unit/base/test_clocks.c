/* SPDX-License-Identifier: MIT
 *
 * ISO 8601 and back.
 */
#include "base/clocks.h"
#include "unit/check.h"

#include <stdlib.h>

static void check_text(int64_t ns, const char *expected)
{
	char text[CLOCKS_UTC_TEXT_SIZE];
	clocks_utc_text((struct utc_time){ns}, text);
	assert_string_equal(text, expected);
}

static void times_are_written_to_the_millisecond(void **state)
{
	(void)state;
	check_text(0, "1970-01-01T00:00:00.000Z");
	check_text(1772460309250000000, "2026-03-02T14:05:09.250Z");
	check_text(1772460309250999999, "2026-03-02T14:05:09.250Z");
	check_text(951782400000000000, "2000-02-29T00:00:00.000Z");
	check_text(-1, "1969-12-31T23:59:59.999Z");
	check_text(INT64_MAX, "2262-04-11T23:47:16.854Z");
}

static void check_parsed(const char *text, int64_t expected_ns)
{
	struct utc_time time;
	if (!clocks_utc_parse(text, &time))
		fail_msg("\"%s\" was refused", text);
	assert_int_equal(time.ns, expected_ns);
}

static void times_are_read(void **state)
{
	(void)state;
	const int64_t noon = 1772409600000000000 + 12 * 3600 * CLOCKS_NS_PER_S;
	check_parsed("1970-01-01", 0);
	check_parsed("2026-03-02", 1772409600000000000);
	check_parsed("2026-03-02T12:00Z", noon);
	check_parsed("2026-03-02T12:00:00Z", noon);
	check_parsed("2026-03-02T12:00:00.25Z", noon + 250000000);
	check_parsed("2026-03-02T12:00:00.123456789Z", noon + 123456789);
	check_parsed("2026-03-02T13:00+01:00", noon);
	check_parsed("2026-03-02T06:30-05:30", noon);
	check_parsed("2026-03-03T00:00:00+12:00", noon);
	check_parsed("2024-02-29", 1709164800000000000);
	check_parsed("2261-12-31T23:59:59Z", 9214646399 * CLOCKS_NS_PER_S);
}

static void anything_else_is_refused(void **state)
{
	(void)state;
	static const char *const refused[] = {"", "2026", "2026-03", "2026-3-2", "2026-02-29",
		"2026-13-01", "2026-00-01", "2026-01-00", "2026-04-31", "2026-03-02T12:00",
		"2026-03-02T12:00:00", "2026-03-02 12:00Z", "2026-03-02T24:00Z",
		"2026-03-02T12:60Z", "2026-03-02T12:00:60Z", "2026-03-02T12:00:00.Z",
		"2026-03-02T12:00:00.1234567890Z", "2026-03-02T12:00+1:00", "2026-03-02T12:00+0100",
		"2026-03-02T12:00+24:00", "2026-03-02T12:00Zx", "2026-03-02T", "1969-12-31",
		"2262-01-01", "1970-01-01T00:00+01:00", "2261-12-31T23:59:59.999999999-23:59",
		"+026-03-02", "2026-03-02T12:00z", "today"};
	for (size_t i = 0; i < sizeof(refused) / sizeof(refused[0]); i++) {
		struct utc_time time;
		if (clocks_utc_parse(refused[i], &time))
			fail_msg("\"%s\" was read", refused[i]);
	}
}

static void written_times_read_back(void **state)
{
	(void)state;
	srand48(20260302);
	for (int i = 0; i < 20000; i++) {
		int64_t ns = (int64_t)(drand48() * 9.2e12) * CLOCKS_NS_PER_MS;
		char text[CLOCKS_UTC_TEXT_SIZE];
		struct utc_time time;
		clocks_utc_text((struct utc_time){ns}, text);
		assert_true(clocks_utc_parse(text, &time));
		assert_int_equal(time.ns, ns);
	}
}

static void the_time_zone_of_the_machine_does_not_matter(void **state)
{
	(void)state;
	setenv("TZ", "Asia/Kathmandu", 1);
	check_text(0, "1970-01-01T00:00:00.000Z");
	check_parsed("1970-01-02", 86400 * CLOCKS_NS_PER_S);
	unsetenv("TZ");
}

static void check_later(const char *from, int months, const char *expected)
{
	struct utc_time time;

	assert_true(clocks_utc_parse(from, &time));
	check_text(clocks_utc_months_later(time, months).ns, expected);
}

static void months_end_where_their_days_do(void **state)
{
	(void)state;
	check_later("2026-03-02T14:05:09.250Z", 13, "2027-04-02T14:05:09.250Z");
	check_later("2026-01-31", 1, "2026-02-28T00:00:00.000Z");
	check_later("2027-08-31", 6, "2028-02-29T00:00:00.000Z");
	check_later("2026-10-31", 13, "2027-11-30T00:00:00.000Z");
	check_later("2026-12-31", 0, "2026-12-31T00:00:00.000Z");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(times_are_written_to_the_millisecond),
		cmocka_unit_test(times_are_read),
		cmocka_unit_test(anything_else_is_refused),
		cmocka_unit_test(written_times_read_back),
		cmocka_unit_test(months_end_where_their_days_do),
		cmocka_unit_test(the_time_zone_of_the_machine_does_not_matter),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
