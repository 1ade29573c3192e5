/* SPDX-License-Identifier: MIT
 *
 * What the person at the valve is told, and when it is a warning: ASTM C39's band of 0.20 to 0.30
 * MPa/s, a look every 10 ms.
 */
#include "judge/advice.h"

#include "base/units.h"
#include "unit/check.h"

#include <string.h>

struct talk {
	struct plan plan;
	struct adviser adviser;
	struct advice_rates rates;
	int64_t time_ns;
};

/* A rate given in the band's unit, in N/s. */
static double n_s(const struct talk *talk, double rate)
{
	return rate * talk->plan.rate_unit_pa * talk->plan.area_m2;
}

/* The residual of a swing at the slowest hunting that moves the slope of the 2 s window by so much
 * at most: A / sqrt(2), where the slope moves by 6 A / (pi f W^2). */
static double residual_n(const struct talk *talk, double rate)
{
	return n_s(talk, rate) * M_PI * 0.5 * 2 * 2 / 6 / sqrt(2);
}

static void set_up(struct talk *talk)
{
	*talk = (struct talk){.plan = {.area_m2 = 0.0177,
				      .rate_unit_pa = UNITS_PASCAL_PER_MPA,
				      .band_low = 0.20,
				      .band_high = 0.30,
				      .window_ns = 5 * CLOCKS_NS_PER_S}};
	policy_defaults(&talk->plan.policy);
	talk->rates = (struct advice_rates){.known = true,
		.live = n_s(talk, 0.25),
		.live_error = n_s(talk, 0.002),
		.within = true,
		.judging = n_s(talk, 0.25),
		.judging_error = n_s(talk, 0.001),
		.judging_full = true,
		.window_reach = 1};
	advice_init(&talk->adviser, &talk->plan);
}

static struct live said(const struct talk *talk, enum phase phase, bool standing)
{
	struct live live = {.phase = phase, .band_begins_un = 0};
	advice_say(&talk->adviser, &talk->rates, standing, &live);
	return live;
}

/* The rates for some seconds; live swings about its value by swing at 0.5 Hz. True if there was a
 * warning on the way. */
static bool go(struct talk *talk, double live, double swing, double seconds)
{
	bool warned = false;
	for (int i = 0; i < (int)lround(seconds * 100); i++) {
		talk->time_ns += 10 * CLOCKS_NS_PER_MS;
		double t = (double)talk->time_ns * 1e-9;
		talk->rates.live = n_s(talk, live + swing * sin(M_PI * t));
		advice_learn(&talk->adviser, &talk->rates, talk->time_ns, true);
		warned |= said(talk, PHASE_LATTER_HALF, false).warning;
	}
	return warned;
}

static void warns_of_what_lasts(void **state)
{
	(void)state;
	struct talk talk;
	set_up(&talk);
	assert_false(go(&talk, 0.25, 0, 5));
	assert_int_equal(said(&talk, PHASE_LATTER_HALF, false).advice, ADVICE_IN_BAND);
	assert_false(go(&talk, 0.33, 0, 0.48)); /* policy.warn_s is 0.5 s */
	assert_false(go(&talk, 0.25, 0, 1));
	assert_true(go(&talk, 0.33, 0, 0.6));
	struct live live = said(&talk, PHASE_LATTER_HALF, false);
	assert_int_equal(live.advice, ADVICE_TOO_FAST);
	assert_true(live.warning);
	assert_string_equal(live.text, "rate 0.33 MPa/s, above 0.30: ease the valve");
	go(&talk, 0.25, 0, 0.6);
	assert_int_equal(said(&talk, PHASE_LATTER_HALF, false).advice, ADVICE_IN_BAND);
	assert_true(go(&talk, 0.17, 0, 0.6));
	live = said(&talk, PHASE_LATTER_HALF, false);
	assert_int_equal(live.advice, ADVICE_TOO_SLOW);
	assert_string_equal(live.text,
		"rate 0.17 MPa/s, below 0.20: open the valve a little, unless it yields");
}

/* A short window that swings out of the band every two seconds, for longer than warn_s, is hunting;
 * a rate that lies above even so is found by the judging window, which the swing moves less. */
static void never_on_hunting_alone(void **state)
{
	(void)state;
	struct talk talk;
	set_up(&talk);
	talk.rates.residual_n = residual_n(&talk, 0.1);
	assert_false(go(&talk, 0.25, 0.1, 60));
	assert_false(go(&talk, 0.36, 0.05, 10)); /* within policy.warn_hunting of the swing */
	talk.rates.judging = n_s(&talk, 0.36);
	assert_true(go(&talk, 0.36, 0.05, 3));
	talk.rates.judging_full = false; /* an unfilled judging window says nothing */
	assert_false(go(&talk, 0.25, 0.1, 1) && said(&talk, PHASE_LATTER_HALF, false).warning);
	assert_false(go(&talk, 0.36, 0.05, 3));
}

/* Outside the part where the band holds, and where the window reaches back before it. */
static void silent_outside_the_band(void **state)
{
	(void)state;
	struct talk talk;
	set_up(&talk);
	go(&talk, 0.25, 0, 5);
	talk.rates.within = false;
	assert_false(go(&talk, 0.6, 0, 3));
	talk.rates.within = true;
	talk.rates.known = false;
	assert_false(go(&talk, 0.6, 0, 3));
	talk.rates.known = true;
	talk.rates.live = n_s(&talk, 0.6);
	for (int i = 0; i < 300; i++)
		advice_learn(&talk.adviser, &talk.rates, talk.time_ns += 10000000, false);
	assert_false(said(&talk, PHASE_LATTER_HALF, false).warning);
}

/* Within three times its standard error of the limit, a rate is not said to be beyond it. */
static void uncertain_rates(void **state)
{
	(void)state;
	struct talk talk;
	set_up(&talk);
	go(&talk, 0.25, 0, 5);
	talk.rates.live_error = n_s(&talk, 0.02);
	assert_false(go(&talk, 0.35, 0, 2));
	assert_true(go(&talk, 0.365, 0, 2));
}

static void words_of_each_phase(void **state)
{
	(void)state;
	struct talk talk;
	set_up(&talk);
	assert_int_equal(said(&talk, PHASE_IDLE, false).advice, ADVICE_NONE);
	assert_string_equal(said(&talk, PHASE_RELEASED, false).text, "");
	assert_int_equal(said(&talk, PHASE_YIELDING, true).advice, ADVICE_LEAVE_ALONE);
	assert_int_equal(said(&talk, PHASE_DECLINING, true).advice, ADVICE_DECLINING);
	struct live live = said(&talk, PHASE_LATTER_HALF, true);
	assert_int_equal(live.advice, ADVICE_STALL);
	assert_true(live.warning);
	live = (struct live){.phase = PHASE_FIRST_HALF, .band_begins_un = INT64_C(78000000000)};
	advice_say(&talk.adviser, &talk.rates, false, &live);
	assert_int_equal(live.advice, ADVICE_BAND_AHEAD);
	assert_string_equal(live.text, "band begins at 78 kN");
	live = said(&talk, PHASE_FIRST_HALF, false); /* where nobody knows the half */
	assert_string_equal(live.text, "rate 0.25 MPa/s; band 0.20 to 0.30 from the half on");
	assert_false(live.warning);
}

static void words_in_inch_pound(void **state)
{
	(void)state;
	struct talk talk;
	set_up(&talk);
	talk.plan.unit = RATE_UNIT_PSI_S;
	talk.plan.rate_unit_pa = UNITS_PASCAL_PER_PSI;
	talk.plan.band_low = 28;
	talk.plan.band_high = 42;
	talk.rates.live = n_s(&talk, 35.2);
	assert_string_equal(said(&talk, PHASE_LATTER_HALF, false).text, "rate 35 psi/s, in band");
	struct live live = {.phase = PHASE_SEATING, .band_begins_un = INT64_C(78000000000)};
	advice_say(&talk.adviser, &talk.rates, false, &live);
	assert_string_equal(live.text, "band begins at 17535 lbf"); /* 78 kN / 4.44822 N */
}

/* Without a specimen there is no stress, and nothing is said of a rate. */
static void no_area(void **state)
{
	(void)state;
	struct talk talk;
	set_up(&talk);
	talk.plan.area_m2 = 0;
	assert_int_equal(said(&talk, PHASE_LATTER_HALF, true).advice, ADVICE_NONE);
	assert_string_equal(said(&talk, PHASE_FIRST_HALF, false).text, "");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(warns_of_what_lasts),
		cmocka_unit_test(never_on_hunting_alone),
		cmocka_unit_test(silent_outside_the_band),
		cmocka_unit_test(uncertain_rates),
		cmocka_unit_test(words_of_each_phase),
		cmocka_unit_test(words_in_inch_pound),
		cmocka_unit_test(no_area),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
