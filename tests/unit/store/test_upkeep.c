/* SPDX-License-Identifier: MIT
 *
 * The press itself: verifications, upkeep and zeros come back as they were stored, and what holds
 * for a press at a time follows from them.
 */
#include "unit/check.h"
#include "unit/store/fixture.h"

#include <string.h>

#define KN (1000 * UNITS_UN_PER_N)

static struct utc_time day(const char *text)
{
	struct utc_time time;

	assert_true(clocks_utc_parse(text, &time));
	return time;
}

static void add_verification(
	struct store *store, const char *press, const char *verified, bool passed)
{
	struct verification verification = {.verified = day(verified),
		.certificate = "LR-7",
		.reference = "load ring 7",
		.capacity_un = 2000 * KN,
		.increment_un = KN / 10,
		.resolution_un = KN / 10,
		.force_count = 1,
		.forces = {{.error_percent = {0.25, -0.5}}},
		.low_un = 200 * KN,
		.high_un = 1800 * KN,
		.passed = passed};

	strcpy(verification.press, press);
	fixture_begin(store);
	assert_int_equal(
		store_verification_add(store, &verification, &fixture_actor, day("2027-12-31")),
		STORE_OK);
	fixture_commit(store);
}

static void add_upkeep(struct store *store, enum upkeep upkeep, const char *happened)
{
	fixture_begin(store);
	assert_int_equal(store_upkeep_add(store, "north", upkeep, "new pump", day(happened),
				 &fixture_actor, day("2027-12-31")),
		STORE_OK);
	fixture_commit(store);
}

static void must_stand(
	struct store *store, const char *press, const char *at, enum standing_kind kind)
{
	struct standing standing;

	assert_int_equal(store_standing(store, press, day(at), &standing), STORE_OK);
	if (standing.kind != kind)
		fail_msg("%s on %s is %s, not %s", press, at, standing_kind_text(standing.kind),
			standing_kind_text(kind));
}

static void the_standing_is_that_of_the_day(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);

	must_stand(store, "north", "2026-05-01", STANDING_NEVER);
	add_verification(store, "north", "2026-02-01", true);
	add_verification(store, "south", "2026-04-01", false);
	must_stand(store, "north", "2026-01-31", STANDING_NEVER);
	must_stand(store, "north", "2026-05-01", STANDING_VALID);
	must_stand(store, "south", "2026-05-01", STANDING_FAILED);
	must_stand(store, "north", "2027-03-01", STANDING_OVERDUE);
	add_upkeep(store, UPKEEP_SOCKET_CARE, "2026-06-01");
	must_stand(store, "north", "2026-06-02", STANDING_VALID);
	add_upkeep(store, UPKEEP_REPAIR, "2026-07-01");
	must_stand(store, "north", "2026-06-30", STANDING_VALID);
	must_stand(store, "north", "2026-07-02", STANDING_VOID);
	must_stand(store, "south", "2026-07-02", STANDING_FAILED);
	add_verification(store, "north", "2026-07-03", true);
	must_stand(store, "north", "2026-07-02T12:00Z", STANDING_VOID);
	must_stand(store, "north", "2026-07-04", STANDING_VALID);
	store_close(store);
}

static bool take_verification(
	void *context, const struct verification *verification, const struct recorded *recorded)
{
	int64_t *numbers = context;

	assert_string_equal(verification->reference, "load ring 7");
	assert_string_equal(verification->certificate, "LR-7");
	assert_int_equal(verification->low_un, 200 * KN);
	assert_int_equal(verification->force_count, 1);
	check_near(verification->forces[0].error_percent[1], -0.5, 0);
	assert_string_equal(recorded->by.name, fixture_actor.name);
	numbers[++numbers[0]] = verification->number;
	return true;
}

static void verifications_are_listed_the_latest_first(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	int64_t all[5] = {0}, north[5] = {0};

	add_verification(store, "north", "2026-07-01", true);
	add_verification(store, "north", "2025-07-01", true);
	add_verification(store, "south", "2026-01-01", false);
	assert_int_equal(store_verifications_each(store, "", take_verification, all), STORE_OK);
	assert_int_equal(
		store_verifications_each(store, "north", take_verification, north), STORE_OK);
	assert_memory_equal(all, ((int64_t[]){3, 1, 3, 2, 0}), sizeof(all));
	assert_memory_equal(north, ((int64_t[]){2, 1, 2, 0, 0}), sizeof(north));
	store_close(store);
}

static void care_and_zeros_are_found_again(void **state)
{
	const struct zero_entry first = {"north", "left", {UNIT_KILONEWTON, {-15, -1}, -3}, 0};
	struct zero_entry second = first, found;
	struct store *store = fixture_open(*state, STORE_WRITE);
	struct utc_time last;

	assert_int_equal(store_care_last(store, "north", &last), STORE_OK);
	assert_int_equal(last.ns, 0);
	add_upkeep(store, UPKEEP_SOCKET_CARE, "2026-06-01");
	add_upkeep(store, UPKEEP_SOCKET_CARE, "2026-03-01");
	add_upkeep(store, UPKEEP_DOUBT, "2026-09-01");
	assert_int_equal(store_care_last(store, "north", &last), STORE_OK);
	assert_int_equal(last.ns, day("2026-06-01").ns);

	assert_int_equal(store_zero_last(store, "north", "left", &found), STORE_NONE);
	second.scale.zero_un = 12345;
	second.before_un = -3;
	fixture_begin(store);
	assert_int_equal(
		store_zero_add(store, &first, "warm", &fixture_actor, day("2026-03-01")), STORE_OK);
	assert_int_equal(
		store_zero_add(store, &second, "", &fixture_actor, day("2026-03-01")), STORE_OK);
	fixture_commit(store);
	assert_int_equal(store_zero_last(store, "north", "left", &found), STORE_OK);
	assert_int_equal(found.scale.zero_un, 12345);
	assert_int_equal(found.before_un, -3);
	assert_int_equal(found.scale.factor.mantissa, -15);
	assert_int_equal(found.scale.unit, UNIT_KILONEWTON);
	assert_int_equal(store_zero_last(store, "north", "right", &found), STORE_NONE);
	store_close(store);
}

static void what_cannot_be_is_refused(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	char note[VERIFICATION_TEXT_SIZE + 1];

	memset(note, 'x', sizeof note);
	note[VERIFICATION_TEXT_SIZE] = '\0';
	fixture_begin(store);
	assert_int_equal(store_upkeep_add(store, "north", UPKEEP_DOUBT, "", day("2026-03-02"),
				 &fixture_actor, day("2026-03-01")),
		STORE_REFUSED);
	assert_int_equal(store_upkeep_add(store, "north", UPKEEP_DOUBT, note, day("2026-03-01"),
				 &fixture_actor, day("2026-03-01")),
		STORE_REFUSED);
	store_rollback(store);
	store_close(store);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		FIXTURE_TEST(the_standing_is_that_of_the_day),
		FIXTURE_TEST(verifications_are_listed_the_latest_first),
		FIXTURE_TEST(care_and_zeros_are_found_again),
		FIXTURE_TEST(what_cannot_be_is_refused),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
