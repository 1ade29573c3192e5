/* SPDX-License-Identifier: MIT
 *
 * The rules are ASTM E4's and ASTM C39's, their numbers from memory where no "read" is beside them;
 * the figures below were worked by hand with them.
 */
#include "result/verification.h"

#include "base/units.h"
#include "unit/check.h"

#include <string.h>

#define KN (1000 * UNITS_UN_PER_N)

static const struct utc_time now = {INT64_C(1790000000) * CLOCKS_NS_PER_S};

/* A press of 2000 kN read to 0.1 kN, verified from 400 to 2000 kN without any error. */
static struct verification flawless(void)
{
	struct verification verification = {
		.press = "north",
		.verified = {now.ns - CLOCKS_NS_PER_S},
		.guided = true,
		.reference = "load ring R7, certificate 31",
		.capacity_un = 2000 * KN,
		.increment_un = KN / 10,
		.resolution_un = KN / 10,
		.force_count = 5,
	};

	for (int64_t i = 0; i < 5; i++) {
		for (size_t run = 0; run < 2; run++) {
			verification.forces[i].true_un[run] = (i + 1) * 400 * KN;
			verification.forces[i].indicated_un[run] = (i + 1) * 400 * KN;
		}
	}
	return verification;
}

static void must_fail(struct verification *verification, const char *reason)
{
	verification_judge(verification);
	assert_false(verification->passed);
	if (!strstr(verification->reason, reason))
		fail_msg("'%s' is not in '%s'", reason, verification->reason);
}

/* ASTM E4: 1.0 % of the true force (read), E = A - B, Ep = 100 E / B, the limit included (values
 * from memory). Own arithmetic: 252.9 for 250.0: 1.16 % fails; 1008 for 1000: 0.8; 99.2 for 100:
 * -0.8; 1010 for 1000: 1.00 passes; 1010.1: 1.01 fails. */
static void percent_errors_are_of_the_true_force(void **state)
{
	(void)state;
	check_near(verification_error_percent(252900 * KN / 1000, 250 * KN), 1.16, 1e-12);
	check_near(verification_error_percent(1008 * KN, 1000 * KN), 0.8, 1e-12);
	check_near(verification_error_percent(99200 * KN / 1000, 100 * KN), -0.8, 1e-12);
	assert_false(verification_within(252900 * KN / 1000, 250 * KN));
	assert_true(verification_within(1008 * KN, 1000 * KN));
	assert_true(verification_within(99200 * KN / 1000, 100 * KN));
	assert_true(verification_within(1010 * KN, 1000 * KN));
	assert_false(verification_within(1010 * KN + 1, 1000 * KN));
	check_near(verification_error_percent(1010 * KN + KN / 10, 1000 * KN), 1.01, 1e-12);
	assert_false(verification_within(1010 * KN + KN / 10, 1000 * KN));
	assert_true(verification_within(990 * KN, 1000 * KN));
	assert_false(verification_within(990 * KN - 1, 1000 * KN));
}

/* Own arithmetic, increment 0.5 kN: E4's 200 x (read) gives 100 kN, C39's 100 x gives 50 kN and its
 * 10 % of 2000 kN 200 kN (read). */
static void the_floor_is_the_largest_of_three(void **state)
{
	(void)state;
	struct verification verification = {
		.increment_un = KN / 2, .resolution_un = KN / 2, .capacity_un = 2000 * KN};

	assert_int_equal(verification_floor_un(&verification), 200 * KN);
	verification.capacity_un = 500 * KN;
	assert_int_equal(verification_floor_un(&verification), 100 * KN);
	verification.resolution_un = KN / 5;
	verification.capacity_un = 100 * KN;
	assert_int_equal(verification_floor_un(&verification), 50 * KN);
}

static void a_reading_that_flutters_is_coarser(void **state)
{
	(void)state;
	assert_int_equal(verification_resolution_un(100, 0), 100);
	assert_int_equal(verification_resolution_un(100, 200), 100);
	assert_int_equal(verification_resolution_un(100, 201), 101);
	assert_int_equal(verification_resolution_un(100, 600), 300);
}

static void a_flawless_one_passes(void **state)
{
	(void)state;
	struct verification verification = flawless();
	struct message why;

	assert_true(verification_check(&verification, now, &why));
	verification_judge(&verification);
	assert_string_equal(verification.reason, "");
	assert_true(verification.passed);
	assert_int_equal(verification.low_un, 400 * KN);
	assert_int_equal(verification.high_un, 2000 * KN);
}

static void errors_fail_beyond_their_limit(void **state)
{
	(void)state;
	struct verification verification = flawless();

	verification.forces[2].indicated_un[0] = 1212 * KN; /* 1.0 % of 1200 kN */
	verification.forces[2].indicated_un[1] = 1212 * KN;
	verification_judge(&verification);
	assert_true(verification.passed);
	check_near(verification.worst_percent, 1.0, 1e-12);
	verification.forces[2].indicated_un[0]++;
	must_fail(&verification, "larger than 1.0 %");
}

static void repeatability_is_the_difference_of_two_errors(void **state)
{
	(void)state;
	struct verification verification = flawless();

	verification.forces[4].indicated_un[0] = 2010 * KN; /* +0.5 % */
	verification.forces[4].indicated_un[1] = 1990 * KN; /* -0.5 % */
	verification_judge(&verification);
	check_near(verification.repeatability_percent, 1.0, 1e-12);
	assert_true(verification.passed);
	verification.forces[4].indicated_un[1] = 1989 * KN;
	must_fail(&verification, "differ by more than 1.0 %");
	check_near(verification.repeatability_percent, 1.05, 1e-12);
	check_near(verification.worst_percent, -0.55, 1e-12);
}

static void forces_below_the_floor_do_not_count(void **state)
{
	(void)state;
	struct verification verification = flawless();

	verification.forces[0].true_un[0] = verification.forces[0].indicated_un[0] = 190 * KN;
	must_fail(&verification, "fewer than five forces");
	assert_int_equal(verification.low_un, 800 * KN);
}

static void neighbours_are_a_third_of_the_range_apart_at_most(void **state)
{
	(void)state;
	struct verification verification = flawless();

	/* 400 to 1900 kN: the last step is 500 of 1500 kN, then a micronewton more */
	for (size_t run = 0; run < 2; run++) {
		struct verification_force *forces = verification.forces;

		forces[4].true_un[run] = forces[4].indicated_un[run] = 1900 * KN;
		forces[3].true_un[run] = forces[3].indicated_un[run] = 1400 * KN;
	}
	verification_judge(&verification);
	assert_true(verification.passed);
	verification.forces[3].true_un[1]--;
	must_fail(&verification, "a third of the range apart");
	verification = flawless();
	verification.forces[3].true_un[1] = verification.forces[2].true_un[1];
	must_fail(&verification, "do not rise");
}

/* The larger of the resolution, 0.1 % of the largest force, 1 % of the lowest verified one. */
static void the_press_must_return_to_zero(void **state)
{
	(void)state;
	struct verification verification = flawless();

	assert_int_equal(verification_return_limit_un(KN / 10, 2000 * KN, 400 * KN), 4 * KN);
	assert_int_equal(verification_return_limit_un(KN / 10, 2000 * KN, 100 * KN), 2 * KN);
	assert_int_equal(verification_return_limit_un(5 * KN, 2000 * KN, 100 * KN), 5 * KN);
	verification.return_un[1] = -4 * KN;
	verification_judge(&verification);
	assert_true(verification.passed);
	verification.return_un[1]--;
	must_fail(&verification, "return to zero");
}

static void a_certificate_keeps_its_printed_range(void **state)
{
	(void)state;
	struct verification verification = flawless();
	struct message why;

	verification.guided = false;
	verification.force_count = 1;
	verification.forces[0] = (struct verification_force){.error_percent = {0.4, -0.3}};
	verification.low_un = 250 * KN;
	verification.high_un = 1800 * KN;
	assert_true(verification_check(&verification, now, &why));
	verification_judge(&verification);
	assert_true(verification.passed);
	assert_int_equal(verification.low_un, 250 * KN);
	check_near(verification.repeatability_percent, 0.7, 1e-12);
	verification.forces[0].error_percent[1] = -1.01;
	must_fail(&verification, "larger than 1.0 %");
	verification.low_un = 199 * KN;
	assert_false(verification_check(&verification, now, &why));
	assert_non_null(strstr(why.text, "200 kN"));
}

static void what_is_none_is_refused(void **state)
{
	(void)state;
	struct message why;
	struct verification verification = flawless();

	verification.verified.ns = now.ns + 1;
	assert_false(verification_check(&verification, now, &why));
	verification = flawless();
	verification.reference[0] = '\0';
	assert_false(verification_check(&verification, now, &why));
	verification = flawless();
	verification.force_count = 0;
	assert_false(verification_check(&verification, now, &why));
	verification = flawless();
	verification.forces[1].true_un[1] = 0;
	assert_false(verification_check(&verification, now, &why));
	verification = flawless();
	verification.resolution_un = 1;
	assert_false(verification_check(&verification, now, &why));
}

/* ---- standing */

static void must_not_be_reportable(
	const struct standing *standing, int64_t maximum_un, const char *reason)
{
	struct message why;

	assert_false(standing_reportable(standing, maximum_un, &why));
	if (!strstr(why.text, reason))
		fail_msg("'%s' is not in '%s'", reason, why.text);
}

static void at(struct standing *standing, const struct verification *last,
	const struct standing_break *broken, const char *when)
{
	struct utc_time time;

	assert_true(clocks_utc_parse(when, &time));
	standing_at(standing, last, broken, time);
}

/* C39: 13 months after the last one. */
static void a_verification_lasts_13_months(void **state)
{
	(void)state;
	struct verification last = flawless();
	struct standing standing;

	clocks_utc_parse("2026-01-31", &last.verified);
	verification_judge(&last);
	last.number = 3;
	at(&standing, &last, NULL, "2027-02-27T23:59Z");
	assert_int_equal(standing.kind, STANDING_VALID);
	assert_int_equal(standing.verification, 3);
	at(&standing, &last, NULL, "2027-02-28");
	assert_int_equal(standing.kind, STANDING_OVERDUE);
	must_not_be_reportable(&standing, 500 * KN, "due since 2027-02-28");
	at(&standing, NULL, NULL, "2027-02-28");
	must_not_be_reportable(&standing, 500 * KN, "not verified");
}

static void what_happens_to_the_press_ends_it(void **state)
{
	(void)state;
	struct verification last = flawless();
	struct standing_break broken = {UPKEEP_REPAIR, {0}, "new pump"};
	struct standing standing;

	clocks_utc_parse("2026-02-01T12:00Z", &last.verified);
	verification_judge(&last);
	clocks_utc_parse("2026-02-01T11:00Z", &broken.at);
	at(&standing, &last, &broken, "2026-03-01");
	assert_int_equal(standing.kind, STANDING_VALID);
	clocks_utc_parse("2026-02-01T13:00Z", &broken.at);
	at(&standing, &last, &broken, "2026-03-01");
	assert_int_equal(standing.kind, STANDING_VOID);
	must_not_be_reportable(&standing, 500 * KN, "repair: new pump");
	last.passed = false;
	at(&standing, &last, NULL, "2026-03-01");
	must_not_be_reportable(&standing, 500 * KN, "failed on 2026-02-01");
}

static void loads_outside_the_range_are_not_reported(void **state)
{
	(void)state;
	const struct standing standing = {
		.kind = STANDING_VALID, .low_un = 200 * KN, .high_un = 2000 * KN};
	struct message why;

	assert_true(standing_reportable(&standing, 200 * KN, &why));
	assert_true(standing_reportable(&standing, 2000 * KN, &why));
	assert_true(standing_reportable(&standing, 0, &why));
	/* a cylinder of 100 mm at 20 MPa on a press of 2000 kN: 157.1 kN */
	must_not_be_reportable(&standing, 157080 * KN / 1000, "157.1 kN lies below");
	must_not_be_reportable(&standing, 2000 * KN + 1, "above the verified range");
}

static void ball_and_socket_are_cared_for_twice_a_year(void **state)
{
	(void)state;
	struct utc_time last, day;
	struct message why;

	clocks_utc_parse("2026-08-31", &last);
	clocks_utc_parse("2027-02-27", &day);
	assert_false(upkeep_care_is_due(last, day, &why));
	clocks_utc_parse("2027-02-28", &day);
	assert_true(upkeep_care_is_due(last, day, &why));
	assert_true(upkeep_care_is_due((struct utc_time){0}, day, &why));
}

static void words_are_read_back(void **state)
{
	(void)state;
	enum upkeep upkeep;
	enum standing_kind kind;

	for (int i = UPKEEP_RELOCATION; i <= UPKEEP_SOCKET_CARE; i++)
		assert_true(upkeep_parse(upkeep_text((enum upkeep)i), &upkeep) && (int)upkeep == i);
	for (int i = STANDING_NEVER; i <= STANDING_UNKNOWN; i++)
		assert_true(standing_kind_parse(standing_kind_text((enum standing_kind)i), &kind) &&
			    (int)kind == i);
	assert_false(upkeep_parse("", &upkeep));
	assert_false(standing_kind_parse("", &kind));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(percent_errors_are_of_the_true_force),
		cmocka_unit_test(the_floor_is_the_largest_of_three),
		cmocka_unit_test(a_reading_that_flutters_is_coarser),
		cmocka_unit_test(a_flawless_one_passes),
		cmocka_unit_test(errors_fail_beyond_their_limit),
		cmocka_unit_test(repeatability_is_the_difference_of_two_errors),
		cmocka_unit_test(forces_below_the_floor_do_not_count),
		cmocka_unit_test(neighbours_are_a_third_of_the_range_apart_at_most),
		cmocka_unit_test(the_press_must_return_to_zero),
		cmocka_unit_test(a_certificate_keeps_its_printed_range),
		cmocka_unit_test(what_is_none_is_refused),
		cmocka_unit_test(a_verification_lasts_13_months),
		cmocka_unit_test(what_happens_to_the_press_ends_it),
		cmocka_unit_test(loads_outside_the_range_are_not_reported),
		cmocka_unit_test(ball_and_socket_are_cared_for_twice_a_year),
		cmocka_unit_test(words_are_read_back),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
