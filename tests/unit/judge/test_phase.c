/* SPDX-License-Identifier: MIT
 *
 * The phase machine, transition by transition: 100 kN anticipated, so that seating ends at 10 kN
 * and the latter half begins at 50 kN; contact at 1 kN; a sample every 10 ms.
 */
#include "judge/phase.h"
#include "unit/check.h"

#include <string.h>

struct bench {
	struct plan plan;
	struct findings findings;
	struct machine machine;
	struct incident_rates rates;
	int64_t time_ns;
	double load_n;
};

static void set_up(struct bench *bench, double anticipated_n)
{
	*bench = (struct bench){0};
	policy_defaults(&bench->plan.policy);
	bench->plan.contact_un = 1000000000;
	bench->plan.anticipated_load_un = llround(anticipated_n * 1e6);
	bench->plan.alignment_un = anticipated_n > 0 ? 0 : 10000000000;
	bench->plan.span_from = 0.5;
	bench->plan.span_to = 0.9;
	bench->rates = (struct incident_rates){.known = true, .live = 1000, .own = 1000};
	phase_init(&bench->machine, &bench->plan, &bench->findings);
}

/* Holds a load, or goes to it in a straight line. Returns the phase. */
static enum phase go(struct bench *bench, double load_n, double seconds)
{
	int count = (int)lround(seconds * 100);
	double step_n = (load_n - bench->load_n) / count;
	for (int i = 0; i < count; i++) {
		bench->load_n += step_n;
		bench->time_ns += 10 * CLOCKS_NS_PER_MS;
		phase_feed(&bench->machine,
			(struct slope_point){bench->time_ns, llround(bench->load_n * 1e6)},
			&bench->rates);
	}
	bench->load_n = load_n;
	return bench->machine.phase;
}

/* The same between two samples. */
static enum phase jump(struct bench *bench, double load_n, double seconds)
{
	bench->load_n = load_n;
	return go(bench, load_n, seconds);
}

static void whole_way(void **state)
{
	(void)state;
	struct bench bench;
	set_up(&bench, 100e3);
	assert_int_equal(go(&bench, 0, 2), PHASE_IDLE);
	assert_int_equal(go(&bench, 900, 1), PHASE_IDLE);
	assert_int_equal(go(&bench, 9900, 9), PHASE_SEATING);
	assert_int_equal(go(&bench, 10100, 1), PHASE_FIRST_HALF);
	assert_int_equal(go(&bench, 49900, 40), PHASE_FIRST_HALF);
	assert_int_equal(go(&bench, 50100, 1), PHASE_LATTER_HALF);
	assert_int_equal(go(&bench, 95e3, 45), PHASE_LATTER_HALF);
	bench.rates.live = 740;
	assert_int_equal(go(&bench, 96e3, 1), PHASE_YIELDING);
	assert_int_equal(go(&bench, 0.96 * 96e3, 1), PHASE_YIELDING);
	assert_int_equal(go(&bench, 0.94 * 96e3, 1), PHASE_DECLINING);
	assert_int_equal(go(&bench, 5e3, 5), PHASE_DECLINING);
	assert_int_equal(jump(&bench, 0, 0.4), PHASE_DECLINING);
	assert_int_equal(go(&bench, 0, 0.3), PHASE_RELEASED);
	assert_true(bench.machine.over);
	assert_int_equal(bench.machine.maximum_un, INT64_C(96000000000));
	assert_int_equal(bench.findings.total, 0);
}

static void knock_is_no_contact(void **state)
{
	(void)state;
	struct bench bench;
	set_up(&bench, 100e3);
	go(&bench, 0, 1);
	assert_int_equal(jump(&bench, 50e3, 0.04), PHASE_IDLE);
	assert_int_equal(jump(&bench, 0, 1), PHASE_IDLE);
	assert_int_equal(bench.machine.maximum_un, 0);
	assert_int_equal(jump(&bench, 2e3, 0.08), PHASE_SEATING);
}

/* A small load, put on and taken off, is part of the run; the press may wait two minutes then. */
static void alignment_check(void **state)
{
	(void)state;
	struct bench bench;
	set_up(&bench, 100e3);
	go(&bench, 5e3, 2);
	assert_int_equal(go(&bench, 0, 2), PHASE_SEATING);
	assert_int_equal(go(&bench, 0, 1), PHASE_RELEASED);
	assert_false(bench.machine.over);
	assert_int_equal(go(&bench, 0, 110), PHASE_RELEASED);
	assert_int_equal(go(&bench, 30e3, 10), PHASE_FIRST_HALF);
	assert_int_equal(bench.findings.count, 1);
	assert_int_equal(bench.findings.events[0].kind, EVENT_ALIGNMENT_CHECK);
	assert_int_equal(bench.findings.events[0].load_un, INT64_C(5000000000));
	go(&bench, 0, 1);
	go(&bench, 0, 1);
	assert_true(bench.machine.over);
}

static void nobody_comes_back(void **state)
{
	(void)state;
	struct bench bench;
	set_up(&bench, 100e3);
	go(&bench, 5e3, 2);
	go(&bench, 0, 2);
	go(&bench, 0, 119);
	assert_false(bench.machine.over);
	go(&bench, 0, 3);
	assert_true(bench.machine.over);
	assert_int_equal(go(&bench, 30e3, 1), PHASE_RELEASED); /* belongs to the next run */
}

/* A fall that recovers past the old maximum goes on as before; below it the run stays declining. */
static void recovery(void **state)
{
	(void)state;
	struct bench bench;
	set_up(&bench, 100e3);
	go(&bench, 80e3, 80);
	assert_int_equal(go(&bench, 70e3, 0.1), PHASE_DECLINING);
	assert_int_equal(go(&bench, 79e3, 9), PHASE_DECLINING);
	assert_int_equal(go(&bench, 81e3, 2), PHASE_LATTER_HALF);
	assert_int_equal(bench.machine.maximum_un, INT64_C(81000000000));
}

/* Yielding needs a rate below 75 % of the run's own, a load beyond 85 % of the anticipated one, and
 * ends where the rate comes back. */
static void yielding(void **state)
{
	(void)state;
	struct bench bench;
	set_up(&bench, 100e3);
	go(&bench, 80e3, 80);
	bench.rates.live = 500;
	assert_int_equal(go(&bench, 84e3, 8), PHASE_LATTER_HALF);
	bench.rates.known = false;
	assert_int_equal(go(&bench, 86e3, 4), PHASE_LATTER_HALF);
	bench.rates.known = true;
	assert_int_equal(go(&bench, 87e3, 2), PHASE_YIELDING);
	bench.rates.live = 800; /* above 75 %, not yet 15 % above that */
	assert_int_equal(go(&bench, 88e3, 1), PHASE_YIELDING);
	bench.rates.live = 900;
	assert_int_equal(go(&bench, 89e3, 1), PHASE_LATTER_HALF);
}

/* Goes on for some seconds, the running rate changing evenly from one value to another. */
static enum phase bend(struct bench *bench, double seconds, double from, double to)
{
	enum { STEPS = 50 };
	enum phase phase = bench->machine.phase;
	for (int i = 1; i <= STEPS; i++) {
		bench->rates.live = from + (to - from) * i / STEPS;
		phase = go(bench, bench->load_n + bench->rates.live * seconds / STEPS,
			seconds / STEPS);
	}
	return phase;
}

/* Without an anticipated load nobody knows the half: the first half goes on, and yielding is a rate
 * that keeps falling, deeper than it need fall near an anticipated load. */
static void blind(void **state)
{
	(void)state;
	struct bench bench;
	set_up(&bench, 0);
	assert_int_equal(go(&bench, 9e3, 9), PHASE_SEATING);
	assert_int_equal(go(&bench, 80e3, 71), PHASE_FIRST_HALF);
	assert_int_equal(bend(&bench, 3, 1000, 610), PHASE_FIRST_HALF);
	assert_int_equal(bend(&bench, 3, 610, 300), PHASE_YIELDING);
	assert_int_equal(bend(&bench, 1, 300, 50), PHASE_YIELDING);
	/* it has come to rest below a quarter of what it was: a top, or the valve closed */
	assert_int_equal(bend(&bench, 4, 50, 50), PHASE_YIELDING);
	assert_int_equal(bend(&bench, 4, 50, 400), PHASE_FIRST_HALF);
}

/* The valve closed at the half to the prescribed rate, a third of what it was, in two seconds: the
 * running rate takes as long again to follow. Nobody must be told to leave the valve alone. */
static void blind_valve(void **state)
{
	(void)state;
	struct bench bench;
	set_up(&bench, 0);
	go(&bench, 40e3, 40);
	assert_int_equal(bend(&bench, 3.9, 1000, 330), PHASE_FIRST_HALF);
	assert_int_equal(bend(&bench, 6, 330, 330), PHASE_FIRST_HALF);
	/* a slower hand is taken for yielding, and given up when the rate stays */
	bench.rates.live = 1000;
	go(&bench, 80e3, 40);
	assert_int_equal(bend(&bench, 5, 1000, 330), PHASE_YIELDING);
	assert_int_equal(bend(&bench, 2, 330, 330), PHASE_FIRST_HALF);
}

/* Off is below half of contact, or below 2 % of the maximum where the zero has drifted. */
static void zero_that_drifted(void **state)
{
	(void)state;
	struct bench bench;
	set_up(&bench, 100e3);
	go(&bench, 90e3, 90);
	assert_int_equal(jump(&bench, 2000, 3), PHASE_DECLINING);
	assert_int_equal(jump(&bench, 1700, 0.6), PHASE_RELEASED);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(whole_way),
		cmocka_unit_test(knock_is_no_contact),
		cmocka_unit_test(alignment_check),
		cmocka_unit_test(nobody_comes_back),
		cmocka_unit_test(recovery),
		cmocka_unit_test(yielding),
		cmocka_unit_test(blind),
		cmocka_unit_test(blind_valve),
		cmocka_unit_test(zero_that_drifted),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
