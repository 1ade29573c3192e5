/* SPDX-License-Identifier: MIT
 *
 * What happens to a load besides rising, one kind at a time: a ramp of 4.4 kN/s from 200 kN on, at
 * 50 Hz, with 50 N of noise. The rates that the judge would give are taken from a window of 2 s.
 */
#include "press.h"

#include "base/larger.h"
#include "judge/incident.h"
#include "unit/check.h"

#include <stdlib.h>
#include <string.h>

static const double ramp_n_s = 4418;
static const int64_t live_ns = 2 * CLOCKS_NS_PER_S;

static struct press *begin(void)
{
	struct press *press = press_new(50);
	press->noise_n = 50;
	press->load_n = 200e3;
	press_to(press, 250e3, ramp_n_s);
	return press;
}

/* Feeds all samples; frees the press. swing_n: what the judge knows of a swing. */
static struct findings watched_with(struct press *press, double own_n_s, double swing_n)
{
	double step_n = press->step_n > 0 ? press->step_n : 1;
	static struct plan plan;
	static struct incident incident;
	struct findings findings;
	struct track track = press_track(press);
	size_t count = track.count;
	struct window window;
	policy_defaults(&plan.policy);
	findings_clear(&findings);
	incident_init(&incident, &plan, &findings);
	window_init(&window, live_ns, 0);
	for (track.count = 1; track.count <= count; track.count++) {
		struct slope_fit fit = {0};
		window_advance(&window, &track, window.next + 1);
		bool known = window_reach(&window) > 0.9 && slope_fit(&window.slope, &fit);
		struct incident_rates rates = {.known = known,
			.live = fit.rate_n_s,
			.live_error = fit.error_n_s,
			.own = own_n_s,
			.swing = swing_n,
			.step = step_n};
		incident_reading(&incident, &press->samples[track.count - 1], true);
		incident_feed(&incident, &track, track_at(&track, track.count - 1), &rates, true);
	}
	track_finish(&track);
	free(press);
	return findings;
}

static struct findings watched_at(struct press *press, double own_n_s)
{
	return watched_with(press, own_n_s, larger(50, press->swing_n * 0.71));
}

static struct findings watched(struct press *press)
{
	return watched_at(press, ramp_n_s);
}

static void check_kinds(const struct findings *findings, const enum event_kind *kinds, size_t count)
{
	for (size_t i = 0; i < findings->count; i++) {
		if (i >= count || findings->events[i].kind != kinds[i])
			fail_msg("event %zu: %s, %s", i, event_kind_text(findings->events[i].kind),
				findings->events[i].text);
	}
	assert_int_equal(findings->count, count);
}

static void ramp_is_no_incident(void **state)
{
	(void)state;
	struct findings findings = watched(begin());
	check_kinds(&findings, NULL, 0);
}

/* One reading is lower by lost_n, and so are those of the time after it; then the load goes on.
 * Drops that are found on a press that swings by 8 kN. */
static size_t drops(double lost_n, double time_s)
{
	struct press *press = begin();
	press_jump(press, press->load_n - lost_n);
	press_hold(press, 1 / press->hz + time_s);
	if (time_s > 0) { /* not made good all at once */
		press_jump(press, press->load_n + 0.95 * lost_n);
		press_hold(press, 2 / press->hz);
	}
	press_jump(press, 251e3);
	press_to(press, 300e3, ramp_n_s);
	struct findings findings = watched_with(press, ramp_n_s, 1e3);
	size_t found = 0;
	for (size_t i = 0; i < findings.count; i++)
		found += findings.events[i].kind == EVENT_DROP;
	return found;
}

/* A fall that is made good before a second reading says so must be larger than the swing by a
 * quarter: the least and the largest of many readings lie far apart. */
static void fall_made_good(void **state)
{
	(void)state;
	assert_int_equal(drops(7e3, 0.5), 0); /* the swing's */
	assert_int_equal(drops(9.2e3, 0.5), 1);
	assert_int_equal(drops(9.2e3, 0), 0);
	assert_int_equal(drops(10.8e3, 0), 1);
}

/* Certain only when the load goes on; its length is the drawn one. */
static void stand_still(void **state)
{
	(void)state;
	struct press *press = begin();
	double since_s = press->time_s;
	press_hold(press, 6);
	press_to(press, 300e3, ramp_n_s);
	struct findings findings = watched(press);
	check_kinds(&findings, (enum event_kind[]){EVENT_STALL}, 1);
	check_near((double)findings.events[0].time.ns * 1e-9, since_s, 0.5);
	check_near((double)findings.until_ns[0] * 1e-9, since_s + 6, 0.5);
	check_near((double)findings.events[0].load_un * 1e-6, 250e3, 1e3);
	/* held, then broken: the specimen's, not the press's */
	press = begin();
	press_hold(press, 6);
	press_to(press, 0, 1e6);
	press_hold(press, 1);
	press_to(press, 50e3, ramp_n_s); /* loading the pieces again is no going on */
	findings = watched(press);
	check_kinds(&findings, NULL, 0);
	/* shorter than the window that could show it */
	press = begin();
	press_hold(press, 1.2);
	press_to(press, 300e3, ramp_n_s);
	findings = watched(press);
	check_kinds(&findings, NULL, 0);
}

static void drop_and_recovery(void **state)
{
	(void)state;
	struct press *press = begin();
	press_to(press, 235e3, 500e3);
	press_to(press, 300e3, ramp_n_s);
	struct findings findings = watched(press);
	check_kinds(&findings, (enum event_kind[]){EVENT_DROP, EVENT_RECOVERY}, 2);
	check_near((double)findings.events[0].load_un * 1e-6, 250e3, 300);
	check_near((double)findings.events[1].load_un * 1e-6, 250e3, 500);
	assert_non_null(strstr(findings.events[0].text, "the load fell by 1"));
	/* it never comes back to the old maximum */
	press = begin();
	press_to(press, 235e3, 500e3);
	press_to(press, 245e3, ramp_n_s);
	findings = watched(press);
	check_kinds(&findings, (enum event_kind[]){EVENT_DROP}, 1);
}

/* A run of which no rate is known yet does not stand still. */
static void nothing_to_stand_still_from(void **state)
{
	(void)state;
	struct press *press = begin();
	press_to(press, 247e3, 500);
	press_to(press, 300e3, ramp_n_s);
	struct findings findings = watched_at(press, -1000);
	for (size_t i = 0; i < findings.count; i++)
		assert_int_not_equal(findings.events[i].kind, EVENT_STALL);
}

/* A small fall that is made good within two seconds: a window across it is as flat as a
 * stand-still, and is none. */
static void no_stand_still_beside_a_fall(void **state)
{
	(void)state;
	const double lost_n[] = {5e3, 6e3, 8e3, 12e3}, slow_n_s = 1000;
	for (size_t i = 0; i < 4; i++) {
		struct press *press = press_new(50);
		press->noise_n = 50;
		press->load_n = 240e3;
		press_to(press, 250e3, slow_n_s);
		press_to(press, 250e3 - lost_n[i], 60e3);
		press_to(press, 270e3, slow_n_s);
		struct findings findings = watched_at(press, slow_n_s);
		check_kinds(&findings, (enum event_kind[]){EVENT_DROP, EVENT_RECOVERY}, 2);
	}
}

/* The whole fall lies between two readings, and is as fast as what
 * was lost between them. */
static void fall_between_two_readings(void **state)
{
	(void)state;
	struct press *press = begin();
	press_gap(press, 0.45, -20e3 / 0.45);
	press_to(press, 300e3, ramp_n_s);
	struct findings findings = watched(press);
	check_kinds(&findings, (enum event_kind[]){EVENT_GAP, EVENT_DROP, EVENT_RECOVERY}, 3);
}

/* An indicator whose step takes the ramp 2.5 s stands still for so long by itself. */
static void coarse_steps_are_no_stand_still(void **state)
{
	(void)state;
	for (size_t i = 0; i < 2; i++) {
		struct press *press = begin();
		press->step_n = 2.5 * ramp_n_s;
		press->noise_n = 0;
		press_to(press, 300e3, ramp_n_s);
		press_hold(press, i == 0 ? 0 : 4);
		press_to(press, 350e3, ramp_n_s);
		struct findings findings = watched(press);
		check_kinds(&findings, (enum event_kind[]){EVENT_STALL}, i);
	}
}

/* A ripple is no fall that would end a stand-still. */
static void stand_still_under_ripple(void **state)
{
	(void)state;
	struct press *press = press_new(50);
	press->load_n = 200e3;
	press->swing_n = 3e3;
	press->swing_hz = 14.4;
	press_to(press, 270e3, ramp_n_s);
	press_hold(press, 5);
	press_to(press, 300e3, ramp_n_s);
	struct findings findings = watched(press);
	check_kinds(&findings, (enum event_kind[]){EVENT_STALL}, 1);
}

/* Slowly, by a valve: taken back, not dropped. */
static void let_off(void **state)
{
	(void)state;
	struct press *press = begin();
	press_to(press, 220e3, 8e3);
	press_to(press, 300e3, ramp_n_s);
	struct findings findings = watched(press);
	check_kinds(&findings, (enum event_kind[]){EVENT_LET_OFF}, 1);
	assert_non_null(strstr(findings.events[0].text, "was taken back"));
}

/* A real fall has to cost drop_fraction (1.7 %); less is hunting. To less than half of the top no
 * corner falls: that was the end. */
static void falls_that_are_none(void **state)
{
	(void)state;
	const double to_n[] = {247e3, 120e3};
	for (size_t i = 0; i < 2; i++) {
		struct press *press = begin();
		press_to(press, to_n[i], 1e6);
		press_to(press, 300e3, 10 * ramp_n_s);
		struct findings findings = watched(press);
		for (size_t k = 0; k < findings.count; k++) {
			assert_int_not_equal(findings.events[k].kind, EVENT_DROP);
			assert_int_not_equal(findings.events[k].kind, EVENT_LET_OFF);
		}
	}
}

static void shock(void **state)
{
	(void)state;
	struct press *press = begin();
	double at_s = press->time_s;
	press_jump(press, 258e3);
	press_to(press, 300e3, ramp_n_s);
	struct findings findings = watched(press);
	check_kinds(&findings, (enum event_kind[]){EVENT_SHOCK}, 1);
	check_near((double)findings.events[0].time.ns * 1e-9, at_s, 0.15);
	press = begin(); /* below shock_fraction of the load (2 %) */
	press_jump(press, 254e3);
	press_to(press, 300e3, ramp_n_s);
	findings = watched(press);
	check_kinds(&findings, NULL, 0);
}

static void gap(void **state)
{
	(void)state;
	struct press *press = begin();
	double since_s = press->time_s;
	press_gap(press, 0.9, ramp_n_s);
	press_to(press, 300e3, ramp_n_s);
	struct findings findings = watched(press);
	check_kinds(&findings, (enum event_kind[]){EVENT_GAP}, 1);
	check_near((double)findings.events[0].time.ns * 1e-9, since_s, 0.021);
	check_near((double)findings.until_ns[0] * 1e-9, since_s + 0.9, 0.021);
	press = begin();
	press_gap(press, 0.1, ramp_n_s); /* below gap_s */
	press_to(press, 300e3, ramp_n_s);
	findings = watched(press);
	check_kinds(&findings, NULL, 0);
}

/* A cell that says so ten times in a second has said it once; again later is again. */
static void over_range_is_said_once(void **state)
{
	(void)state;
	struct press *press = begin();
	for (size_t i = 100; i < 150; i++)
		press->samples[i].flags = SAMPLE_OVER_RANGE;
	press->samples[400].flags = SAMPLE_OVER_RANGE;
	struct findings findings = watched(press);
	check_kinds(&findings, (enum event_kind[]){EVENT_OVER_RANGE, EVENT_OVER_RANGE}, 2);
	assert_int_equal(findings.events[0].time.ns, 2000000000);
	assert_int_equal(findings.events[1].time.ns, 8000000000);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(ramp_is_no_incident),
		cmocka_unit_test(fall_made_good),
		cmocka_unit_test(stand_still),
		cmocka_unit_test(nothing_to_stand_still_from),
		cmocka_unit_test(drop_and_recovery),
		cmocka_unit_test(no_stand_still_beside_a_fall),
		cmocka_unit_test(fall_between_two_readings),
		cmocka_unit_test(coarse_steps_are_no_stand_still),
		cmocka_unit_test(stand_still_under_ripple),
		cmocka_unit_test(let_off),
		cmocka_unit_test(falls_that_are_none),
		cmocka_unit_test(shock),
		cmocka_unit_test(gap),
		cmocka_unit_test(over_range_is_said_once),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
