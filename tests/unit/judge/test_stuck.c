/* SPDX-License-Identifier: MIT
 *
 * Stuck readings and what only looks like them. The load should rise by 1000 N/s; a reading every
 * 50 ms.
 */
#include "judge/stuck.h"
#include "unit/check.h"

enum { OWN_N_S = 1000, INTERVAL_MS = 50 };

/* Feeds `count` equal readings after a first one, then one that has risen by risen_n. Returns how
 * many are said to be stuck. */
static size_t feed(int count, double risen_n, double own_n_s, double least_n)
{
	struct policy policy;
	struct stuck stuck;
	policy_defaults(&policy);
	stuck_init(&stuck);
	struct slope_point now = {7000000000, 300000000};
	for (int i = 0; i <= count; i++) {
		assert_int_equal(stuck_feed(&stuck, &policy, now, own_n_s, least_n), 0);
		now.time_ns += INTERVAL_MS * INT64_C(1000000);
	}
	now.load_un += llround(risen_n * 1e6);
	size_t found = stuck_feed(&stuck, &policy, now, own_n_s, least_n);
	now.time_ns += INTERVAL_MS * INT64_C(1000000);
	now.load_un += 50000000;
	assert_int_equal(stuck_feed(&stuck, &policy, now, own_n_s, least_n), 0); /* said once */
	return found;
}

static void risen_behind_their_back(void **state)
{
	(void)state;
	assert_int_equal(feed(10, 550, OWN_N_S, 20), 10);
	/* half of what the rate explains is enough, less is not */
	assert_int_equal(feed(10, 260, OWN_N_S, 20), 10);
	assert_int_equal(feed(10, 240, OWN_N_S, 20), 0);
}

/* After a stand-still the load goes on from where it stood; after a hold it may fall. */
static void stand_still(void **state)
{
	(void)state;
	assert_int_equal(feed(40, 50, OWN_N_S, 20), 0);
	assert_int_equal(feed(40, -3000, OWN_N_S, 20), 0);
}

/* 0.2 s at the least, and a rise that stands out from noise and resolution. */
static void too_little_to_tell(void **state)
{
	(void)state;
	assert_int_equal(feed(3, 200, OWN_N_S, 20), 0);
	assert_int_equal(feed(4, 250, OWN_N_S, 20), 4);
	assert_int_equal(feed(10, 550, OWN_N_S, 600), 0);
}

/* Not rising, the run has no rate of its own: nothing is expected. */
static void no_rate_known(void **state)
{
	(void)state;
	assert_int_equal(feed(10, 550, 0, 20), 0);
}

/* The rate that is known while they are stuck falls to nothing: what counts is the one before. */
static void the_rate_before_counts(void **state)
{
	(void)state;
	struct policy policy;
	struct stuck stuck;
	policy_defaults(&policy);
	stuck_init(&stuck);
	struct slope_point now = {7000000000, 300000000};
	for (int i = 0; i < 100; i++) {
		assert_int_equal(stuck_feed(&stuck, &policy, now, 5000.0 / (1 + i), 100), 0);
		now.time_ns += 20000000;
	}
	now.load_un += INT64_C(10000000000);
	assert_int_equal(stuck_feed(&stuck, &policy, now, 50, 100), 99);
}

/* 10 kN that should rise by 1 kN/s come so often, then the load is another one 20 ms later. */
static bool until(double lasted_s, double then_n, double least_n)
{
	struct policy policy;
	struct stuck stuck;
	policy_defaults(&policy);
	stuck_init(&stuck);
	struct slope_point now = {7000000000, INT64_C(10000000000)};
	for (int i = 0; i <= lrint(lasted_s * 50); i++) {
		stuck_feed(&stuck, &policy, now, OWN_N_S, least_n);
		now.time_ns += 20000000;
	}
	now.load_un = llround(then_n * 1e6);
	return stuck_until_gone(&stuck, &policy, now);
}

/* The cell says the same until the specimen is gone: the maximum is not known. */
static void until_the_load_is_gone(void **state)
{
	(void)state;
	assert_true(until(2.5, 0, 20));
	assert_true(until(2.5, 9400, 20));
	assert_false(until(2.5, 9600, 20));  /* no fracture */
	assert_false(until(2.5, 11000, 20)); /* stuck, and it went on */
	assert_false(until(1.9, 0, 20));     /* too short to tell from a yielding top */
	assert_false(until(2.5, 0, 700));    /* a coarse indicator's step */
}

/* What comes behind stuck readings is no jump if it is about what the rate explains: half of that
 * to one and a half. */
static void the_rise_is_explained(void **state)
{
	(void)state;
	const struct {
		int count;
		double risen_n, own_n_s, least_n;
		bool explained;
	} cases[] = {{10, 500, OWN_N_S, 20, true}, {10, 260, OWN_N_S, 20, true},
		{10, 740, OWN_N_S, 20, true}, {10, 240, OWN_N_S, 20, false},
		{10, 760, OWN_N_S, 20, false}, {10, -500, OWN_N_S, 20, false},
		{10, 500, 0, 20, false}, {10, 500, OWN_N_S, 600, false},
		{3, 150, OWN_N_S, 20, false}, {0, 50, OWN_N_S, 20, false}};
	struct policy policy;
	policy_defaults(&policy);
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct stuck stuck;
		struct slope_point now = {7000000000, 300000000};
		stuck_init(&stuck);
		for (int k = 0; k <= cases[i].count; k++) {
			stuck_feed(&stuck, &policy, now, cases[i].own_n_s, cases[i].least_n);
			now.time_ns += INTERVAL_MS * INT64_C(1000000);
		}
		now.load_un += llround(cases[i].risen_n * 1e6);
		assert_int_equal(stuck_explains(&stuck, &policy, now), cases[i].explained);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(risen_behind_their_back),
		cmocka_unit_test(stand_still),
		cmocka_unit_test(too_little_to_tell),
		cmocka_unit_test(no_rate_known),
		cmocka_unit_test(the_rate_before_counts),
		cmocka_unit_test(until_the_load_is_gone),
		cmocka_unit_test(the_rise_is_explained),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
