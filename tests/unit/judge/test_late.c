/* SPDX-License-Identifier: MIT
 *
 * A perfect ramp whose readings are held up: what came at once does not move the rate, and the
 * maximum among it is not lost.
 */
#include "press.h"

#include "unit/check.h"

#include <stdlib.h>

static const double ramp_n_s = 1963; /* 0.25 MPa/s on a cylinder of 100 mm */

static struct plan plan_of(double anticipated_n)
{
	struct plan plan = {
		.area_m2 = 0.00785398,
		.rate_unit_pa = 1e6,
		.band_low = 0.20,
		.band_high = 0.30,
		.span_from = 0.5,
		.span_to = 0.9,
		.window_ns = 5 * CLOCKS_NS_PER_S,
		.anticipated_load_un = (int64_t)(anticipated_n * 1e6),
		.basis_anticipated = true,
		.contact_un = INT64_C(400000000),
		.alignment_un = (int64_t)(anticipated_n * 1e5),
	};
	policy_defaults(&plan.policy);
	return plan;
}

static struct press *make_run(void)
{
	struct press *press = press_new(50);
	press_hold(press, 2);
	press_to(press, 200e3, ramp_n_s);
	press_to(press, 100, 400e3);
	press_hold(press, 5);
	return press;
}

/* What a reader that was held up from one time to another stamps: all at the end, 1 ms apart. */
static void hold_up(struct press *press, double from_s, double to_s, unsigned flags)
{
	for (size_t i = press->count; i-- > 0;) {
		struct sample *sample = &press->samples[i];
		double time_s = (double)sample->time.ns * 1e-9;
		static int64_t next_ns;
		if (time_s <= from_s)
			break;
		if (time_s > to_s) {
			next_ns = sample->time.ns;
			continue;
		}
		next_ns -= CLOCKS_NS_PER_MS;
		sample->time.ns = next_ns;
		sample->flags |= flags;
	}
}

static double highest_advised(const struct press *press, const struct plan *plan)
{
	struct judge *judge = judge_create(PRESS_SAMPLES_MAX);
	double highest = 0;
	judge_start(judge, plan);
	for (size_t i = 0; i < press->count; i++) {
		struct live live;
		if (judge_feed(judge, &press->samples[i]))
			break;
		judge_live(judge, &live);
		if (live.phase == PHASE_LATTER_HALF && live.has_rate)
			highest = fmax(highest, live.rate_pa_s);
	}
	judge_destroy(judge);
	return highest;
}

/* Half a second without the loop at 70 s: stamped at its end, the readings make the live rate of a
 * perfect ramp leave its band; marked as late they do not. */
static void a_stall_does_not_move_the_rate(void **state)
{
	(void)state;
	struct plan plan = plan_of(200e3);
	struct press *press = make_run();
	hold_up(press, 70, 71, 0);
	double unmarked = highest_advised(press, &plan);
	free(press);
	press = make_run();
	hold_up(press, 70, 71, SAMPLE_LATE);
	double marked = highest_advised(press, &plan);
	struct judgement judgement;
	press_judge(press, &plan, &judgement);
	free(press);
	assert_true(unmarked > 0.27e6);
	assert_true(marked < 0.26e6);
	assert_int_equal(judgement.rate.verdict, VERDICT_IN_BAND);
	assert_int_equal(press_events(&judgement, EVENT_LATE), 1);
	assert_int_equal(press_events(&judgement, EVENT_GAP), 0);
	assert_int_equal(press_events(&judgement, EVENT_SHOCK), 0);
	assert_int_equal(press_events(&judgement, EVENT_STALL), 0);
}

/* The specimen breaks while nobody reads. */
static void a_maximum_that_came_late_is_the_maximum(void **state)
{
	(void)state;
	struct plan plan = plan_of(200e3);
	struct press *press = make_run();
	struct judgement judgement;
	double break_s = 2 + 200e3 / ramp_n_s;
	hold_up(press, break_s - 0.5, break_s + 0.5, SAMPLE_LATE);
	press_judge(press, &plan, &judgement);
	free(press);
	check_near((double)judgement.maximum_un * 1e-6, 200e3, 200);
	assert_int_equal(judgement.end, END_BROKEN);
	assert_int_equal(press_events(&judgement, EVENT_LATE), 1);
	/* In four seconds the valve may have been opened: nobody saw it. */
	press = make_run();
	hold_up(press, break_s - 2, break_s + 2, SAMPLE_LATE);
	press_judge(press, &plan, &judgement);
	free(press);
	check_near((double)judgement.maximum_un * 1e-6, 200e3, 200);
	assert_int_equal(judgement.end, END_INTERRUPTED);
}

static void what_a_cell_counts_is_an_event(void **state)
{
	(void)state;
	struct plan plan = plan_of(200e3);
	struct press *press = make_run();
	struct judgement judgement;
	for (size_t i = 0; i < 3; i++) { /* three within a second are told once */
		press->samples[50 * 60 + 10 * i].flags |= SAMPLE_LOST;
		press->samples[50 * 65 + 10 * i].flags |= SAMPLE_REPEATED;
	}
	press_judge(press, &plan, &judgement);
	free(press);
	assert_int_equal(press_events(&judgement, EVENT_LOST), 1);
	assert_int_equal(press_events(&judgement, EVENT_REPEATED), 1);
	assert_int_equal(judgement.rate.verdict, VERDICT_IN_BAND);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_stall_does_not_move_the_rate),
		cmocka_unit_test(a_maximum_that_came_late_is_the_maximum),
		cmocka_unit_test(what_a_cell_counts_is_an_event),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
