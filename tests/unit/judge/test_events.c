/* SPDX-License-Identifier: MIT
 *
 * What happens in whole runs, drawn by the test: each event is on the record as often as it was
 * drawn, and counts for the verdict or does not.
 */
#include "cylinder.h"

#include "base/units.h"
#include "unit/check.h"

#include <math.h>

static void stall_is_out_of_band(void **state)
{
	(void)state;
	struct plan plan = cylinder_plan("astm-c39", 0);
	struct press *press = cylinder_begin(50, 20, 0.25);
	press_hold(press, 4);
	cylinder_climb(press, 30, 0.25);
	struct judgement judgement = cylinder_broken(press, &plan);
	cylinder_check_verdict(judgement, VERDICT_OUT_OF_BAND);
	assert_int_equal(press_events(&judgement, EVENT_STALL), 1);
}

static void spikes_never_count(void **state)
{
	(void)state;
	for (size_t width = 1; width <= 2; width++) {
		struct plan plan = cylinder_plan("astm-c39", 0);
		struct press *press = cylinder_begin(50, 30, 0.25);
		press->noise_n = 0;
		for (size_t i = 0; i < width; i++) {
			press->samples[2000 + i].load_un += 400000 * UNITS_UN_PER_N;
			press->samples[4000 + i].load_un = 0;
			/* and one at the very top, before an explosive failure */
			press->samples[press->count - 1 - i].load_un += 100000 * UNITS_UN_PER_N;
		}
		press_jump(press, 0);
		press_hold(press, 2);
		struct judgement judgement = cylinder_judged(press, &plan);
		assert_int_equal(judgement.end, END_BROKEN);
		check_near((double)judgement.maximum_un * 1e-6, cylinder_newton(30),
			cylinder_newton(0.02));
		assert_int_equal(press_events(&judgement, EVENT_SPIKE), 3 * width);
		assert_int_equal(judgement.event_count, 3 * width);
		cylinder_check_verdict(judgement, VERDICT_IN_BAND);
	}
}

static void gap_longer_than_window(void **state)
{
	(void)state;
	const struct {
		double gap_s;
		enum verdict verdict;
	} cases[] = {{1, VERDICT_IN_BAND}, {6, VERDICT_UNDETERMINED}};
	for (size_t i = 0; i < 2; i++) {
		struct plan plan = cylinder_plan("astm-c39", 0);
		struct press *press = cylinder_begin(50, 20, 0.25);
		press->noise_n = 20;
		press_gap(press, cases[i].gap_s, cylinder_newton(0.25));
		cylinder_climb(press, 30, 0.25);
		struct judgement judgement = cylinder_broken(press, &plan);
		cylinder_check_verdict(judgement, cases[i].verdict);
		assert_int_equal(press_events(&judgement, EVENT_GAP), 1);
		assert_int_equal(judgement.event_count, 1);
	}
}

static void shock_is_an_event(void **state)
{
	(void)state;
	struct plan plan = cylinder_plan("astm-c39", 0);
	struct press *press = cylinder_begin(100, 20, 0.25);
	press->noise_n = 50;
	press_jump(press, cylinder_newton(21.5));
	cylinder_climb(press, 30, 0.25);
	struct judgement judgement = cylinder_broken(press, &plan);
	assert_int_equal(press_events(&judgement, EVENT_SHOCK), 1);
	cylinder_check_verdict(judgement, VERDICT_OUT_OF_BAND);
}

/* While readings are stuck nothing changes; the ripple that goes on after them is what it was
 * before, and no shock. */
static void no_shock_after_stuck_readings(void **state)
{
	(void)state;
	struct plan plan = cylinder_plan("astm-c39", 0);
	for (double stuck_s = 6; stuck_s <= 12; stuck_s += 1.5) {
		struct press *press = press_new(50);
		press_hold(press, 1);
		press->swing_hz = 14;
		press->swing_n = 3500;
		cylinder_climb(press, 15, 0.25);
		press->swing_n = 0;
		press_hold(press, stuck_s);
		press_jump(press, cylinder_newton(15 + 0.25 * stuck_s));
		press->swing_n = 3500;
		cylinder_climb(press, 25, 0.25);
		struct judgement judgement = cylinder_broken(press, &plan);
		assert_int_equal(press_events(&judgement, EVENT_STUCK), 1);
		assert_int_equal(press_events(&judgement, EVENT_SHOCK), 0);
	}
}

/* The specimen fails behind the back of readings that stay the same: what it bore nobody knows. */
static void stuck_until_the_fracture(void **state)
{
	(void)state;
	struct plan plan = cylinder_plan("astm-c39", 0);
	struct press *press = cylinder_begin(50, 25, 0.25);
	press->noise_n = 0;
	press_hold(press, 6);
	struct judgement judgement = cylinder_broken(press, &plan);
	assert_int_equal(judgement.end, END_BROKEN);
	assert_int_equal(press_events(&judgement, EVENT_STUCK), 1);
	cylinder_check_verdict(judgement, VERDICT_UNDETERMINED);
}

/* Two corners let go one after the other; falls that come in a rhythm are the press's hunting. */
static void falls_in_a_rhythm(void **state)
{
	(void)state;
	struct plan plan = cylinder_plan("astm-c39", 0);
	for (int falls = 2; falls <= 5; falls++) {
		struct press *press = cylinder_begin(50, 20, 0.25);
		press->noise_n = 50;
		for (int i = 0; i < falls; i++) {
			double before_n = press->load_n;
			press_to(press, 0.96 * before_n, before_n);
			press_to(press, before_n + cylinder_newton(0.25), before_n / 5);
		}
		cylinder_climb(press, 30, 0.25);
		struct judgement judgement = cylinder_broken(press, &plan);
		size_t drops = press_events(&judgement, EVENT_DROP);
		size_t recoveries = press_events(&judgement, EVENT_RECOVERY);
		assert_int_equal(drops, falls < 3 ? falls : 0);
		assert_true(falls < 3 ? recoveries > 0 : recoveries == 0);
	}
}

static void zero_offset_is_an_event(void **state)
{
	(void)state;
	const double rest_n[] = {1000, 0}; /* with 0, it was a load and not the zero */
	for (size_t i = 0; i < 2; i++) {
		struct plan plan = cylinder_plan("astm-c39", 0);
		struct press *press = press_new(50);
		press->load_n = 1000;
		press_hold(press, 1);
		cylinder_climb(press, 30, 0.25);
		press_to(press, rest_n[i], press->load_n * 10);
		press_hold(press, 2);
		struct judgement judgement = cylinder_judged(press, &plan);
		assert_int_equal(press_events(&judgement, EVENT_ZERO_OFFSET), i == 0);
	}
}

/* From a zero well below nothing a slow press takes half a minute to contact. */
static void zero_far_below_contact(void **state)
{
	(void)state;
	struct plan plan = cylinder_plan("astm-c39", 0);
	plan.contact_un = llround(cylinder_newton(0.5) * 1e6);
	struct press *press = press_new(50);
	press->load_n = -cylinder_newton(0.5);
	press->noise_n = cylinder_newton(0.002);
	press_hold(press, 1);
	cylinder_climb(press, 1, 0.04);
	cylinder_climb(press, 30, 0.25);
	press_to(press, -cylinder_newton(0.5), press->load_n * 10);
	press_hold(press, 2);
	struct judgement judgement = cylinder_judged(press, &plan);
	assert_int_equal(press_events(&judgement, EVENT_ZERO_OFFSET), 1);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(stall_is_out_of_band),
		cmocka_unit_test(spikes_never_count),
		cmocka_unit_test(gap_longer_than_window),
		cmocka_unit_test(shock_is_an_event),
		cmocka_unit_test(no_shock_after_stuck_readings),
		cmocka_unit_test(stuck_until_the_fracture),
		cmocka_unit_test(falls_in_a_rhythm),
		cmocka_unit_test(zero_offset_is_an_event),
		cmocka_unit_test(zero_far_below_contact),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
