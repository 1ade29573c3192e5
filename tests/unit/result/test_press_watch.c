/* SPDX-License-Identifier: MIT */
#include "result/press_watch.h"

#include "unit/check.h"

#include <string.h>

#define KN (1000 * UNITS_UN_PER_N)

static const int64_t STEP_NS = 50 * CLOCKS_NS_PER_MS;

static struct press_watch watch;
static int64_t now_ns;

static struct press_watch_plan plan_of_four(void)
{
	return (struct press_watch_plan){
		.zero_limit_un = KN / 10,
		.drift_limit_un = KN / 20,
		.thrust_limit_um = 5000,
		.thrust_least_un = 5 * KN,
		.place_count = 4,
		.places = {{-100000, -100000}, {100000, -100000}, {100000, 100000},
			{-100000, 100000}},
	};
}

static void start(const struct press_watch_plan *plan, const struct specimen *specimen)
{
	static const struct plan run = {.contact_un = KN, .policy.rules = 4};
	now_ns = 0;
	press_watch_start(&watch, plan, 4, &run, specimen);
}

/* So many samples of that load; the cells to the right carry that much more than half of it. */
static void feed(int count, int64_t load_un, double right, enum phase phase)
{
	int64_t more_un = (int64_t)((double)load_un * (0.5 + right)) / 2;
	int64_t less_un = (load_un - 2 * more_un) / 2;
	const int64_t cells[] = {less_un, more_un, more_un, less_un};

	for (; count > 0; count--, now_ns += STEP_NS)
		press_watch_feed(&watch, &(struct sample){{now_ns}, load_un, 0}, cells, phase);
}

static size_t count_events(enum event_kind kind)
{
	const struct event *events = NULL;
	size_t count = press_watch_events(&watch, &events), found = 0;

	for (size_t i = 0; i < count; i++)
		found += events[i].kind == kind;
	return found;
}

static void a_zero_beyond_its_limit_is_told_once(void **state)
{
	(void)state;
	struct press_watch_plan plan = plan_of_four();

	start(&plan, NULL);
	feed(60, KN / 10, 0, PHASE_IDLE);
	assert_int_equal(count_events(EVENT_ZERO_OFFSET), 0);
	start(&plan, NULL);
	feed(60, -KN / 10 - 1, 0, PHASE_IDLE);
	assert_int_equal(count_events(EVENT_ZERO_OFFSET), 1);
}

static void a_zero_is_one_only_before_contact(void **state)
{
	(void)state;
	struct press_watch_plan plan = plan_of_four();

	start(&plan, NULL);
	feed(15, KN / 2, 0, PHASE_IDLE);
	feed(30, KN, 0, PHASE_SEATING);
	feed(60, KN / 2, 0, PHASE_RELEASED);
	assert_int_equal(count_events(EVENT_ZERO_OFFSET), 0);
}

/* Unloaded, 50 kN, and what it reads then: debris and a shaking press are no other zero, an
 * indicator that took a new one in mid-run is. */
static void a_zero_that_moved_in_the_run_is_told(void **state)
{
	static const struct {
		int64_t before_un, after_un, shake_un;
		double rules;
		size_t events;
	} cases[] = {
		{0, 0, 0, 4, 0},
		{0, -KN / 10, -20 * KN, 4, 0},
		{0, KN / 3, 0, 4, 0},
		{0, -20 * KN, -20 * KN, 4, 1},
		{-KN / 20, -KN / 7, 0, 4, 0},
		{KN / 20, -KN / 12, 0, 4, 1},
		{0, -20 * KN, -20 * KN, 3, 0},
	};
	static struct outcome outcome;
	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct press_watch_plan plan = plan_of_four();

		start(&plan, NULL);
		watch.watches_rest = cases[i].rules >= 4;
		feed(60, cases[i].before_un, 0, PHASE_IDLE);
		feed(60, 50 * KN, 0, PHASE_FIRST_HALF);
		feed(5, cases[i].shake_un, 0, PHASE_DECLINING);
		feed(8, cases[i].after_un, 0, PHASE_DECLINING);
		outcome = (struct outcome){.thrust.known = false};
		press_watch_finish(&watch, &outcome);
		if (count_events(EVENT_ZERO_DRIFT) != cases[i].events)
			fail_msg("case %zu", i);
	}
}

/* 0.16 kN/s, as a press rises that is being closed with care: the record may begin in the middle.
 */
static void a_slow_approach_is_no_zero(void **state)
{
	(void)state;
	struct press_watch_plan plan = plan_of_four();

	start(&plan, NULL);
	for (int64_t load_un = KN / 2; load_un < KN; load_un += KN / 125)
		feed(1, load_un, 0, PHASE_IDLE);
	assert_false(watch.has_zero);
	assert_int_equal(count_events(EVENT_ZERO_OFFSET), 0);
}

static void a_drift_is_measured_from_the_last_run(void **state)
{
	(void)state;
	struct press_watch_plan plan = plan_of_four();

	start(&plan, NULL);
	feed(60, KN / 15, 0, PHASE_IDLE);
	assert_int_equal(count_events(EVENT_ZERO_DRIFT), 0); /* nothing to compare with */
	plan.has_zero_before = true;
	start(&plan, NULL);
	feed(60, KN / 15, 0, PHASE_IDLE);
	assert_int_equal(count_events(EVENT_ZERO_DRIFT), 1);
	assert_int_equal(count_events(EVENT_ZERO_OFFSET), 0);
}

/* 3 % more of the load on the right than on either side's half is 6 mm of 100. */
static void an_eccentric_load_is_told_when_it_lasts(void **state)
{
	(void)state;
	struct press_watch_plan plan = plan_of_four();
	struct outcome outcome = {.judgement = {.event_count = 0}};

	start(&plan, NULL);
	feed(11, 50 * KN, 0.03, PHASE_FIRST_HALF);
	feed(11, 50 * KN, 0, PHASE_FIRST_HALF);
	assert_int_equal(count_events(EVENT_ECCENTRIC), 0);
	feed(31, 50 * KN, 0.03, PHASE_LATTER_HALF);
	assert_int_equal(count_events(EVENT_ECCENTRIC), 1);
	feed(60, 50 * KN, 0.02, PHASE_LATTER_HALF);
	assert_int_equal(count_events(EVENT_ECCENTRIC), 1);
	press_watch_finish(&watch, &outcome);
	assert_true(outcome.thrust.known);
	check_near((double)outcome.thrust.worst_um, 6000, 1);
	check_near((double)outcome.thrust.x_um, 4000, 1);
	assert_int_equal(outcome.thrust.y_um, 0);
	assert_int_equal(outcome.judgement.event_count, 1);
	assert_int_equal(outcome.judgement.event_total, 1);
}

static void small_loads_and_falling_ones_tell_nothing(void **state)
{
	(void)state;
	struct press_watch_plan plan = plan_of_four();

	start(&plan, NULL);
	feed(100, 5 * KN - 1, 0.2, PHASE_SEATING);
	feed(100, 50 * KN, 0.2, PHASE_DECLINING);
	assert_int_equal(count_events(EVENT_ECCENTRIC), 0);
	assert_false(watch.thrust.known);
	plan.place_count = 0;
	start(&plan, NULL);
	feed(100, 50 * KN, 0.2, PHASE_LATTER_HALF);
	assert_false(watch.thrust.known);
}

static void a_block_too_small_is_on_record(void **state)
{
	(void)state;
	const struct specimen specimen = {
		.id = "A", .shape = SHAPE_CYLINDER, .width_um = {100000, 100000}};
	struct press_watch_plan plan = plan_of_four();

	plan.block = (struct bearing){.width_um = 102000};
	start(&plan, &specimen);
	feed(2, 0, 0, PHASE_IDLE);
	assert_int_equal(count_events(EVENT_SMALL_BLOCK), 1);
	start(&plan, NULL);
	feed(2, 0, 0, PHASE_IDLE);
	assert_int_equal(count_events(EVENT_SMALL_BLOCK), 0);
}

/* In their places by time; the judge's zero offset is not told a second time. */
static void events_join_those_of_the_judge(void **state)
{
	(void)state;
	static struct outcome outcome;
	struct judgement *judgement = &outcome.judgement;
	struct press_watch_plan plan = plan_of_four();

	plan.has_zero_before = true;
	plan.zero_before_un = -KN;
	judgement->event_count = judgement->event_total = 2;
	judgement->events[0] = (struct event){EVENT_ZERO_OFFSET, {0}, 0, "the judge's"};
	judgement->events[1] =
		(struct event){EVENT_STALL, {100 * CLOCKS_NS_PER_S}, 0, "the judge's"};
	start(&plan, NULL);
	feed(60, KN / 5, 0, PHASE_IDLE);
	press_watch_finish(&watch, &outcome);
	assert_int_equal(judgement->event_count, 3);
	assert_int_equal(judgement->event_total, 3);
	assert_int_equal(judgement->events[1].kind, EVENT_ZERO_DRIFT);
	assert_int_equal(judgement->events[2].kind, EVENT_STALL);
	judgement->event_count = JUDGE_EVENTS_MAX;
	judgement->event_total = 70;
	press_watch_finish(&watch, &outcome);
	assert_int_equal(judgement->event_count, JUDGE_EVENTS_MAX);
	assert_int_equal(judgement->event_total, 71);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_zero_beyond_its_limit_is_told_once),
		cmocka_unit_test(a_zero_that_moved_in_the_run_is_told),
		cmocka_unit_test(a_zero_is_one_only_before_contact),
		cmocka_unit_test(a_slow_approach_is_no_zero),
		cmocka_unit_test(a_drift_is_measured_from_the_last_run),
		cmocka_unit_test(an_eccentric_load_is_told_when_it_lasts),
		cmocka_unit_test(small_loads_and_falling_ones_tell_nothing),
		cmocka_unit_test(a_block_too_small_is_on_record),
		cmocka_unit_test(events_join_those_of_the_judge),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
