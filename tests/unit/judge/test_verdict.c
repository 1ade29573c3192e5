/* SPDX-License-Identifier: MIT
 *
 * The verdict on a drawn track: what each answer needs, and the words it gives. The band is that of
 * ASTM C39, 0.20 to 0.30 MPa/s over 50 to 90 % of the load, on 0.01 m2: 2 to 3 kN/s. A specimen of
 * 300 kN.
 */
#include "press.h"

#include "base/units.h"
#include "judge/verdict.h"
#include "unit/check.h"

#include <stdlib.h>
#include <string.h>

static const double top_n = 300e3, middle_n_s = 2500;

struct court {
	struct plan plan;
	struct findings findings, crossings;
	enum end end;
	struct press *press;
};

static void set_up(struct court *court)
{
	*court = (struct court){.plan = {.area_m2 = 0.01,
					.rate_unit_pa = UNITS_PASCAL_PER_MPA,
					.band_low = 0.20,
					.band_high = 0.30,
					.span_from = 0.5,
					.span_to = 0.9,
					.window_ns = 5 * CLOCKS_NS_PER_S},
		.end = END_BROKEN,
		.press = press_new(50)};
	policy_defaults(&court->plan.policy);
	findings_clear(&court->findings);
	findings_clear(&court->crossings);
}

/* Judges what was drawn and frees the press. */
static struct rate judged(struct court *court, enum basis basis)
{
	static struct noise noise;
	struct rate rate;
	struct track track = press_track(court->press);
	size_t top = 0;
	for (size_t i = 0; i < track.count; i++)
		top = track_load_un(&track, i) > track_load_un(&track, top) ? i : top;
	struct verdict_input input = {.plan = &court->plan,
		.track = &track,
		.findings = &court->findings,
		.noise = &noise,
		.maximum_un = track_load_un(&track, top),
		.maximum_at = top,
		.end = court->end};
	verdict_judge(&input, basis, &rate, &court->crossings);
	track_finish(&track);
	free(court->press);
	return rate;
}

static struct rate steady(struct court *court, double rate_n_s)
{
	set_up(court);
	press_to(court->press, top_n, rate_n_s);
	return judged(court, BASIS_MAXIMUM);
}

#define check_said(rate, expected, words) \
	do { \
		if ((rate).verdict != (expected) || strstr((rate).reason, (words)) == NULL) \
			fail_msg("%s: %s", verdict_text((rate).verdict), (rate).reason); \
	} while (0)

static void limits(void **state)
{
	(void)state;
	struct court court;
	struct rate rate = steady(&court, 2500);
	check_said(rate, VERDICT_IN_BAND, "0.250 to 0.250 MPa/s throughout, within 0.20 to 0.30");
	check_near(rate.mean_pa_s, 0.25e6, 1);
	assert_int_equal(rate.outside_ns, 0);
	assert_int_equal(rate.window_ns, 5 * CLOCKS_NS_PER_S);
	check_near((double)(rate.to.ns - rate.from.ns) * 1e-9, 0.4 * top_n / 2500, 0.05);
	rate = steady(&court, 2990);
	check_said(rate, VERDICT_IN_BAND, "throughout");
	rate = steady(&court, 3010);
	check_said(rate, VERDICT_OUT_OF_BAND,
		"above 0.30 by more than twice its uncertainty of less than 0.001");
	check_near((double)rate.outside_ns, (double)(rate.to.ns - rate.from.ns), 0);
	assert_int_equal(court.crossings.count, 1);
	assert_int_equal(court.crossings.events[0].kind, EVENT_BAND_LEFT);
	rate = steady(&court, 1990);
	check_said(rate, VERDICT_OUT_OF_BAND, "below 0.20 by more than twice its uncertainty");
}

/* A force of 2000 to 3000 N/s is the same band, whatever the area, in words of its own. */
static void a_band_of_force(void **state)
{
	(void)state;
	struct court court;
	set_up(&court);
	court.plan.unit = RATE_UNIT_N_S;
	court.plan.rate_unit_pa = 1 / court.plan.area_m2;
	court.plan.band_low = 2000;
	court.plan.band_high = 3000;
	press_to(court.press, top_n, 2500);
	struct rate rate = judged(&court, BASIS_MAXIMUM);
	check_said(rate, VERDICT_IN_BAND, "2500 to 2500 N/s throughout, within 2000 to 3000");
	check_near(rate.band_low_pa_s, 0.2e6, 1e-6);
}

/* The second half, 150 kN, in one to two minutes: 1250 to 2500 N/s. */
static struct rate timed(double rate_n_s, enum end end)
{
	struct court court;
	set_up(&court);
	court.plan.span_to = 1;
	court.plan.time_low_s = 60;
	court.plan.time_high_s = 120;
	court.end = end;
	press_to(court.press, top_n, rate_n_s);
	return judged(&court, BASIS_MAXIMUM);
}

static void a_time_for_the_span(void **state)
{
	(void)state;
	struct rate rate = timed(1500, END_BROKEN);
	check_said(rate, VERDICT_IN_BAND,
		"100.0 s from 50 % of the maximum load to the maximum, within 60 to 120 s");
	check_near(rate.mean_pa_s, 0.15e6, 50);
	check_near(rate.band_low_pa_s, 0.125e6, 50);
	check_near(rate.band_high_pa_s, 0.25e6, 50);
	rate = timed(2600, END_BROKEN);
	check_said(rate, VERDICT_OUT_OF_BAND, "57.7 s");
	rate = timed(1240, END_BROKEN);
	check_said(rate, VERDICT_OUT_OF_BAND, "not 60 to 120 s");
	/* the ends are known to one sample, here 0.02 s each */
	rate = timed(1249.8, END_BROKEN);
	check_said(rate, VERDICT_UNDETERMINED, "120.0 s");
	rate = timed(1500, END_INTERRUPTED);
	check_said(rate, VERDICT_UNDETERMINED, "readings stopped");
}

static void evenly_means_without_a_stand_still(void **state)
{
	(void)state;
	struct court court;
	set_up(&court);
	court.plan.span_to = 1;
	court.plan.time_low_s = 60;
	court.plan.time_high_s = 120;
	press_to(court.press, top_n, 1500);
	findings_add(&court.findings, EVENT_STALL, 150 * CLOCKS_NS_PER_S, 154 * CLOCKS_NS_PER_S,
		INT64_C(225000000000), "the load stood still");
	struct rate rate = judged(&court, BASIS_MAXIMUM);
	check_said(rate, VERDICT_OUT_OF_BAND, "the load stood still");
}

/* Outside by less than the uncertainty twice over is not decided, nor is it said to be fine. */
static void within_the_uncertainty(void **state)
{
	(void)state;
	struct court court;
	set_up(&court);
	court.press->noise_n = 800;
	press_to(court.press, top_n, 2960);
	struct rate rate = judged(&court, BASIS_MAXIMUM);
	check_said(rate, VERDICT_UNDETERMINED, "above 0.30 by less than twice its uncertainty");
	assert_true(rate.uncertainty_pa_s > 0);
}

/* The time outside is that of the drawn excursion; it is left once and regained once. */
static void time_outside(void **state)
{
	(void)state;
	struct court court;
	set_up(&court);
	press_to(court.press, 180e3, middle_n_s);
	double left_s = court.press->time_s;
	press_to(court.press, 180e3 + 10 * 3500, 3500);
	press_to(court.press, top_n, middle_n_s);
	struct rate rate = judged(&court, BASIS_MAXIMUM);
	check_said(rate, VERDICT_OUT_OF_BAND, "above");
	check_near((double)rate.outside_ns * 1e-9, 10, 0.2);
	check_near((double)rate.worst.ns * 1e-9, left_s + 5, 2.6);
	check_near(rate.highest_pa_s, 0.35e6, 100);
	check_near(rate.lowest_pa_s, 0.25e6, 100);
	assert_int_equal(court.crossings.count, 2);
	assert_int_equal(court.crossings.events[0].kind, EVENT_BAND_LEFT);
	assert_int_equal(court.crossings.events[1].kind, EVENT_BAND_REGAINED);
	check_near((double)court.crossings.events[0].time.ns * 1e-9, left_s, 0.6);
}

/* What was done just before the span begins is not in any of its windows, nor what came after it.
 */
static void windows_stay_inside(void **state)
{
	(void)state;
	struct court court;
	set_up(&court);
	press_to(court.press, 0.499 * top_n, 10 * middle_n_s);
	press_to(court.press, 0.901 * top_n, middle_n_s);
	press_to(court.press, top_n, middle_n_s / 10);
	struct rate rate = judged(&court, BASIS_MAXIMUM);
	check_said(rate, VERDICT_IN_BAND, "throughout");
	check_near(rate.highest_pa_s, 0.25e6, 100);
	check_near(rate.lowest_pa_s, 0.25e6, 100);
}

/* A short span has a shorter window: a third of it. */
static void window_of_a_short_span(void **state)
{
	(void)state;
	struct court court;
	set_up(&court);
	court.press->load_n = 100e3;
	press_to(court.press, 120e3, middle_n_s);
	court.plan.span_from = 110.0 / 120;
	court.plan.span_to = 119.0 / 120;
	struct rate rate = judged(&court, BASIS_MAXIMUM);
	check_said(rate, VERDICT_IN_BAND, "");
	double span_ns = (double)(rate.to.ns - rate.from.ns);
	check_near(span_ns, 9e3 / middle_n_s * 1e9, 0.04e9);
	check_near((double)rate.window_ns, span_ns / 3, 1);
}

static void anticipated_basis(void **state)
{
	(void)state;
	struct court court;
	set_up(&court);
	court.plan.anticipated_load_un = INT64_C(400000000000);
	press_to(court.press, 200e3, 2 * middle_n_s); /* to half of the anticipated 400 kN */
	press_to(court.press, top_n, middle_n_s);
	struct rate rate = judged(&court, BASIS_ANTICIPATED);
	check_said(rate, VERDICT_IN_BAND, "");
	set_up(&court);
	court.plan.anticipated_load_un = INT64_C(600000000000); /* half of it is the maximum */
	press_to(court.press, top_n, middle_n_s);
	rate = judged(&court, BASIS_ANTICIPATED);
	check_said(rate, VERDICT_UNDETERMINED, "50 % of the anticipated load was not reached");
}

static void gaps(void **state)
{
	(void)state;
	struct court court;
	for (int i = 0; i < 2; i++) {
		set_up(&court);
		press_to(court.press, 180e3, middle_n_s);
		press_gap(court.press, i == 0 ? 4 : 5.5, middle_n_s);
		press_to(court.press, top_n, middle_n_s);
		struct rate rate = judged(&court, BASIS_MAXIMUM);
		check_said(rate, i == 0 ? VERDICT_IN_BAND : VERDICT_UNDETERMINED,
			i == 0 ? "throughout" : "longer than the judging window of 5.00 s");
	}
	/* a gap that begins at the largest reading hides the maximum */
	set_up(&court);
	press_to(court.press, top_n, middle_n_s);
	int64_t last_ns = court.press->samples[court.press->count - 1].time.ns;
	findings_add(&court.findings, EVENT_GAP, last_ns, last_ns + 1000000000, 0, "gap");
	struct rate rate = judged(&court, BASIS_MAXIMUM);
	check_said(rate, VERDICT_UNDETERMINED, "the maximum may be lost");
}

static void too_few_readings(void **state)
{
	(void)state;
	struct court court;
	set_up(&court);
	free(court.press);
	court.press = press_new(0.7); /* three or four in a window of 5 s */
	press_to(court.press, top_n, middle_n_s);
	struct rate rate = judged(&court, BASIS_MAXIMUM);
	check_said(rate, VERDICT_UNDETERMINED, "too few readings");
	assert_int_equal(rate.uncertainty_pa_s, 0);
}

/* A stand-still or a fall in the span is out of band, even where no window shows it. */
static void stops_in_the_span(void **state)
{
	(void)state;
	const enum event_kind kinds[] = {EVENT_STALL, EVENT_DROP, EVENT_LET_OFF, EVENT_SHOCK};
	const struct {
		double from_s, until_s;
		bool inside;
	} times[] = {{10, 20, false}, {50, 65, true}, {80, 82, true}, {110, 119, false}};
	for (size_t k = 0; k < 4; k++) {
		for (size_t i = 0; i < 4; i++) {
			struct court court;
			set_up(&court);
			press_to(court.press, top_n, middle_n_s); /* span 60 to 108 s */
			findings_add(&court.findings, kinds[k], llround(times[i].from_s * 1e9),
				llround(times[i].until_s * 1e9), 0, "it stopped");
			struct rate rate = judged(&court, BASIS_MAXIMUM);
			bool out = times[i].inside && kinds[k] != EVENT_SHOCK;
			check_said(rate, out ? VERDICT_OUT_OF_BAND : VERDICT_IN_BAND,
				out ? "it stopped" : "throughout");
		}
	}
}

/* Near the end of the span the rate falls because the specimen yields: out of band, and the reason
 * says so. */
static void yielding_is_said(void **state)
{
	(void)state;
	struct court court;
	set_up(&court);
	press_to(court.press, 0.75 * top_n, middle_n_s);
	press_round(court.press, top_n, middle_n_s);
	struct rate rate = judged(&court, BASIS_MAXIMUM);
	check_said(rate, VERDICT_OUT_OF_BAND, "the specimen was yielding");
	set_up(&court); /* slow at the end of the span and as before after it: no yielding */
	press_to(court.press, 258e3, middle_n_s);
	press_to(court.press, 265.5e3, 1500);
	press_to(court.press, top_n, middle_n_s);
	rate = judged(&court, BASIS_MAXIMUM);
	check_said(rate, VERDICT_OUT_OF_BAND, "below 0.20");
	assert_null(strstr(rate.reason, "yielding"));
}

/* A rate of nothing has no sign. */
static void nothing_is_not_negative(void **state)
{
	(void)state;
	struct court court;
	set_up(&court);
	press_to(court.press, 0.7 * top_n, middle_n_s);
	press_to(court.press, 0.7 * top_n - 0.5, 0.5 / 8);
	press_to(court.press, top_n, middle_n_s);
	struct rate rate = judged(&court, BASIS_MAXIMUM);
	check_said(rate, VERDICT_OUT_OF_BAND, "0.000 MPa/s at ");
	assert_null(strstr(rate.reason, "-0.000"));
	assert_true(rate.lowest_pa_s < 0);
}

static void nothing_to_judge(void **state)
{
	(void)state;
	struct court court;
	set_up(&court);
	press_to(court.press, top_n, middle_n_s);
	court.end = END_NO_LOAD;
	struct rate rate = judged(&court, BASIS_MAXIMUM);
	check_said(rate, VERDICT_NONE, "no load was put on");
	check_near(rate.band_low_pa_s, 0.20e6, 1);
	check_near(rate.band_high_pa_s, 0.30e6, 1);
	set_up(&court);
	press_to(court.press, top_n, middle_n_s);
	court.plan.area_m2 = 0;
	rate = judged(&court, BASIS_MAXIMUM);
	check_said(rate, VERDICT_NONE, "no specimen was seated");
	assert_int_equal(rate.window_ns, 0);
	set_up(&court);
	press_to(court.press, top_n, middle_n_s);
	court.end = END_INTERRUPTED;
	rate = judged(&court, BASIS_MAXIMUM);
	check_said(rate, VERDICT_UNDETERMINED, "the maximum is not known");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(limits),
		cmocka_unit_test(a_band_of_force),
		cmocka_unit_test(a_time_for_the_span),
		cmocka_unit_test(evenly_means_without_a_stand_still),
		cmocka_unit_test(within_the_uncertainty),
		cmocka_unit_test(time_outside),
		cmocka_unit_test(windows_stay_inside),
		cmocka_unit_test(window_of_a_short_span),
		cmocka_unit_test(anticipated_basis),
		cmocka_unit_test(gaps),
		cmocka_unit_test(too_few_readings),
		cmocka_unit_test(stops_in_the_span),
		cmocka_unit_test(yielding_is_said),
		cmocka_unit_test(nothing_is_not_negative),
		cmocka_unit_test(nothing_to_judge),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
