/* SPDX-License-Identifier: MIT
 *
 * How whole runs end, drawn by the test: broken, unloaded, interrupted or never loaded, and with
 * which maximum.
 */
#include "cylinder.h"

#include "unit/check.h"

static void corner_lets_go_and_recovers(void **state)
{
	(void)state;
	struct plan plan = cylinder_plan("astm-c39", 0);
	struct press *press = cylinder_begin(50, 24, 0.25);
	press_to(press, cylinder_newton(24 * 0.9), cylinder_newton(30));
	cylinder_climb(press, 30, 0.25);
	struct judgement judgement = cylinder_broken(press, &plan);
	assert_int_equal(judgement.end, END_BROKEN);
	check_near((double)judgement.maximum_un * 1e-6, cylinder_newton(30), cylinder_newton(0.01));
	assert_int_equal(press_events(&judgement, EVENT_DROP), 1);
	assert_int_equal(press_events(&judgement, EVENT_RECOVERY), 1);
	cylinder_check_verdict(judgement, VERDICT_OUT_OF_BAND);
}

/* The recovery stays below the old maximum: the first one is the maximum. */
static void first_maximum_stands(void **state)
{
	(void)state;
	struct plan plan = cylinder_plan("astm-c39", 0);
	struct press *press = cylinder_begin(50, 30, 0.25);
	press_to(press, cylinder_newton(27), cylinder_newton(30));
	cylinder_climb(press, 29.5, 0.25);
	struct judgement judgement = cylinder_broken(press, &plan);
	assert_int_equal(judgement.end, END_BROKEN);
	check_near((double)judgement.maximum_un * 1e-6, cylinder_newton(30), cylinder_newton(0.01));
	assert_int_equal(press_events(&judgement, EVENT_DROP), 1);
	assert_int_equal(press_events(&judgement, EVENT_RECOVERY), 0);
}

static void explosive_failure_is_no_spike(void **state)
{
	(void)state;
	struct plan plan = cylinder_plan("astm-c39", 0);
	struct press *press = cylinder_begin(10, 30, 0.25);
	press_jump(press, 0);
	press_hold(press, 0.15); /* one or two samples, then the record ends */
	struct judgement judgement = cylinder_judged(press, &plan);
	assert_int_equal(judgement.end, END_BROKEN);
	check_near((double)judgement.maximum_un * 1e-6, cylinder_newton(30), cylinder_newton(0.03));
	assert_int_equal(press_events(&judgement, EVENT_SPIKE), 0);
}

static void ductile_decline_is_broken(void **state)
{
	(void)state;
	struct plan plan = cylinder_plan("astm-c39", 0);
	struct press *press = cylinder_begin(20, 27, 0.25);
	press->noise_n = 100;
	press_round(press, cylinder_newton(30), cylinder_newton(0.25));
	cylinder_climb(press, 24, 0.1);
	struct judgement judgement = cylinder_judged(press, &plan);
	assert_int_equal(judgement.end, END_BROKEN);
	cylinder_check_verdict(
		judgement, VERDICT_IN_BAND); /* the roll-off from 90 % on is no excursion */
}

static void valve_opened_is_unloaded(void **state)
{
	(void)state;
	struct plan plan = cylinder_plan("astm-c39", 40);
	struct press *press = cylinder_begin(20, 30, 0.25);
	cylinder_climb(press, 0, 10);
	press_hold(press, 2);
	struct judgement judgement = cylinder_judged(press, &plan);
	assert_int_equal(judgement.end, END_UNLOADED);
	/* the same after a hold */
	press = cylinder_begin(20, 30, 0.25);
	press_hold(press, 8);
	cylinder_climb(press, 0, 10);
	press_hold(press, 2);
	judgement = cylinder_judged(press, &plan);
	assert_int_equal(judgement.end, END_UNLOADED);
}

static void readings_that_stop(void **state)
{
	(void)state;
	struct plan plan = cylinder_plan("astm-c39", 0);
	struct press *press = cylinder_begin(20, 20, 0.25);
	struct judgement judgement = cylinder_judged(press, &plan);
	assert_int_equal(judgement.end, END_INTERRUPTED);
	cylinder_check_verdict(judgement, VERDICT_UNDETERMINED);
}

/* The readings stop while the load is on and in the trough of a swing that takes it below 95 % of
 * its peak: hunting, and no end of the loading. */
static void readings_that_stop_in_a_trough(void **state)
{
	(void)state;
	struct plan plan = cylinder_plan("astm-c39", 0);
	for (plan.policy.rules = 3; plan.policy.rules >= 2; plan.policy.rules--) {
		struct press *press = press_new(50);
		press->swing_hz = 1;
		press->swing_n = cylinder_newton(0.35);
		press_to(press, cylinder_newton(12), cylinder_newton(0.25));
		press_hold(press, 0.75);
		struct judgement judgement = cylinder_judged(press, &plan);
		/* by the rules before, as it was judged before */
		assert_int_equal(
			judgement.end, plan.policy.rules >= 3 ? END_INTERRUPTED : END_UNLOADED);
	}
}

/* No samples for a while, and then no load. */
static struct judgement gone_after(struct press *press, double gap_s, const struct plan *plan)
{
	press_gap(press, gap_s, cylinder_newton(0.25));
	press_jump(press, 0);
	press_hold(press, 2);
	return cylinder_judged(press, plan);
}

/* Nobody saw how the load went: it may have been let off or have broken. Only what goes within a
 * moment can but have broken. */
static void load_gone_while_nobody_looked(void **state)
{
	(void)state;
	struct plan plan = cylinder_plan("astm-c39", 0);
	struct press *press = cylinder_begin(20, 20, 0.25);
	struct judgement judgement = gone_after(press, 5, &plan);
	assert_int_equal(judgement.end, END_INTERRUPTED);
	cylinder_check_verdict(judgement, VERDICT_UNDETERMINED);
	assert_int_equal(press_events(&judgement, EVENT_GAP), 1);
	/* slowed down before: no rounded top either */
	press = cylinder_begin(20, 15, 0.75);
	cylinder_climb(press, 15.7, 0.25);
	judgement = gone_after(press, 5, &plan);
	assert_int_equal(judgement.end, END_INTERRUPTED);
	press = cylinder_begin(20, 20, 0.25);
	judgement = gone_after(press, 0.5, &plan);
	assert_int_equal(judgement.end, END_BROKEN);
}

static void no_load_at_all(void **state)
{
	(void)state;
	struct plan plan = cylinder_plan("astm-c39", 30);
	struct press *press = press_new(20);
	press->noise_n = 200;
	press_hold(press, 20);
	struct judgement judgement = cylinder_judged(press, &plan);
	assert_int_equal(judgement.end, END_NO_LOAD);
	assert_int_equal(judgement.rate.verdict, VERDICT_NONE);
	assert_int_equal(judgement.maximum_un, 0);
}

static void alignment_check_is_part_of_the_run(void **state)
{
	(void)state;
	struct plan plan = cylinder_plan("astm-c39", 30);
	struct press *press = cylinder_begin(20, 2, 0.5);
	press_hold(press, 5);
	cylinder_climb(press, 0, 1);
	press_hold(press, 10);
	cylinder_climb(press, 30, 0.25);
	struct judgement judgement = cylinder_broken(press, &plan);
	assert_int_equal(judgement.end, END_BROKEN);
	check_near((double)judgement.maximum_un * 1e-6, cylinder_newton(30), cylinder_newton(0.02));
	assert_int_equal(press_events(&judgement, EVENT_ALIGNMENT_CHECK), 1);
	assert_int_equal(judgement.event_count, 1);
	cylinder_check_verdict(judgement, VERDICT_IN_BAND);
}

/* Put on, taken off at once, and nothing after it: nobody may call that broken. */
static void alignment_check_alone_is_not_broken(void **state)
{
	(void)state;
	for (double rules = 4; rules >= 3; rules--) {
		struct plan plan = cylinder_plan("astm-c39", 30);
		plan.policy.rules = rules;
		struct press *press = cylinder_begin(20, 2, 0.5);
		press_hold(press, 5);
		press_jump(press, 0);
		press_hold(press, 130);
		struct judgement judgement = cylinder_judged(press, &plan);
		/* by the rules before, as it was judged before */
		assert_int_equal(judgement.end, rules >= 4 ? END_UNLOADED : END_BROKEN);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(corner_lets_go_and_recovers),
		cmocka_unit_test(first_maximum_stands),
		cmocka_unit_test(explosive_failure_is_no_spike),
		cmocka_unit_test(ductile_decline_is_broken),
		cmocka_unit_test(valve_opened_is_unloaded),
		cmocka_unit_test(readings_that_stop),
		cmocka_unit_test(readings_that_stop_in_a_trough),
		cmocka_unit_test(load_gone_while_nobody_looked),
		cmocka_unit_test(no_load_at_all),
		cmocka_unit_test(alignment_check_is_part_of_the_run),
		cmocka_unit_test(alignment_check_alone_is_not_broken),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
