/* SPDX-License-Identifier: MIT
 *
 * What a press is said to be like between its runs: its zero, and what is due.
 */
#include "stance.h"

#include "unit/check.h"

#include <stdlib.h>
#include <string.h>

static const struct config_press config = {
	.contact_un = INT64_C(2000) * UNITS_UN_PER_N,
	.zero_limit_un = INT64_C(400) * UNITS_UN_PER_N,
	.drift_limit_un = INT64_C(200) * UNITS_UN_PER_N,
	.cell_count = 1,
	.section.name = "north",
};

static struct stance stance;
static int64_t now_ns;

static struct status_notices notices_at(struct utc_time now)
{
	struct status_notices notices;

	stance_notices(&stance, NULL, true, now, &notices);
	return notices;
}

/* Of the zero alone: nothing is due by then. */
static const char *zero_notice(void)
{
	static struct status_notices notices;

	notices = notices_at((struct utc_time){0});
	assert_true(notices.count <= 1);
	return notices.count ? notices.texts[0] : "";
}

/* The first number in the notice, in newtons. */
static double said_n(void)
{
	const char *text = zero_notice();

	text += strcspn(text, "-0123456789");
	return 1000 * strtod(text, NULL);
}

/* Feeds 50 samples a second, from one load to another; returns how often the notices changed. */
static int feed(double from_n, double to_n, double lasting_s)
{
	int changes = 0, count = (int)(50 * lasting_s);

	for (int i = 0; i < count; i++) {
		double load_n = from_n + (to_n - from_n) * i / count;
		struct sample sample = {.time = {now_ns += 20 * CLOCKS_NS_PER_MS},
			.load_un = (int64_t)(load_n * UNITS_UN_PER_N)};
		char before[STATUS_TEXT_SIZE];

		strcpy(before, zero_notice());
		stance_feed(&stance, &sample, &sample.load_un, true);
		changes += strcmp(before, zero_notice()) != 0;
	}
	return changes;
}

static int set_up(void **state)
{
	(void)state;
	stance_init(&stance, &config);
	stance.standing = (struct standing){.kind = STANDING_VALID, .due = {INT64_MAX}};
	stance.care = (struct utc_time){1};
	now_ns = 0;
	return 0;
}

static void test_zero_beyond_limit(void **state)
{
	(void)state;
	assert_int_equal(feed(390, 390, 5), 0);
	assert_true(feed(450, 450, 5) > 0);
	assert_non_null(strstr(zero_notice(), "the unloaded press reads"));
	check_near(said_n(), 450, 20);
	assert_non_null(strstr(zero_notice(), "ramplog zero north"));
	/* After a run it is said again when the press has stood still again. */
	stance_remember_zero(&stance);
	assert_string_equal(zero_notice(), "");
	assert_true(feed(450, 450, 5) > 0);
	assert_non_null(strstr(zero_notice(), "the unloaded press reads"));
}

/* Closing a press at 100 N/s up to contact: at no time does it stand still, so nothing is said of
 * its zero. */
static void test_slow_approach_is_no_zero(void **state)
{
	(void)state;
	assert_int_equal(feed(0, 0, 4), 0);
	assert_int_equal(feed(0, 1900, 19), 0);
	assert_true(stance.has_zero);
	check_near((double)stance.zero_un / UNITS_UN_PER_N, 0, 30);
}

/* One that wanders about the limit, and in its last digits, is told once. */
static void test_wandering_zero_is_told_once(void **state)
{
	int changes = 0;
	(void)state;
	feed(410, 410, 5);
	for (int i = 0; i < 60; i++)
		changes += feed(i % 2 ? 395 : 405, i % 2 ? 395 : 405, 5);
	assert_int_equal(changes, 0);
	assert_true(feed(0, 0, 5) > 0);
	assert_string_equal(zero_notice(), "");
}

static void test_drift_since_last_run(void **state)
{
	(void)state;
	feed(-50, -50, 4);
	stance_remember_zero(&stance);
	assert_int_equal(feed(100, 100, 5), 0);
	assert_true(feed(180, 180, 5) > 0);
	assert_non_null(strstr(zero_notice(), "the zero has moved by"));
	check_near(said_n(), 230, 20);
	/* the next run begins from there */
	stance_remember_zero(&stance);
	assert_string_equal(zero_notice(), "");
	stance_forget_zero(&stance);
	assert_int_equal(feed(-100, -100, 5), 0);
}

/* Nothing is fed: the clock alone makes it due. */
static void test_due_without_samples(void **state)
{
	struct utc_time verified = {0}, care = {1};
	(void)state;
	assert_true(clocks_utc_parse("2025-01-10T09:00:00Z", &verified));
	stance.standing = (struct standing){.kind = STANDING_VALID,
		.verified = verified,
		.due = clocks_utc_months_later(verified, VERIFICATION_MONTHS)};
	stance.care = care = verified;
	struct utc_time july = clocks_utc_months_later(verified, UPKEEP_CARE_MONTHS);
	struct status_notices notices = notices_at((struct utc_time){july.ns - 1});
	assert_int_equal(notices.count, 0);
	notices = notices_at(july);
	assert_int_equal(notices.count, 1);
	assert_non_null(
		strstr(notices.texts[0], "care of ball and socket is due since 2025-07-10"));
	notices = notices_at(stance.standing.due);
	assert_int_equal(notices.count, 2);
	assert_non_null(strstr(notices.texts[0], "press not verified: due since 2026-02-10"));
}

#define STANCE_TEST(test) cmocka_unit_test_setup(test, set_up)

int main(void)
{
	const struct CMUnitTest tests[] = {
		STANCE_TEST(test_zero_beyond_limit),
		STANCE_TEST(test_slow_approach_is_no_zero),
		STANCE_TEST(test_wandering_zero_is_told_once),
		STANCE_TEST(test_drift_since_last_run),
		STANCE_TEST(test_due_without_samples),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
