/* SPDX-License-Identifier: MIT */
#include "../check.h"
#include "base/units.h"
#include "draw/run_plot.h"

#include <string.h>

enum { COUNT = 601 };
static struct sample samples[COUNT];
static struct outcome outcome;
static const struct run_curve curve = {samples, COUNT, {.ns = 5000}, &outcome};

/* 10 Hz, 2 kN/s for 50 s on 0.008 m2 (0.25 MPa/s), then nothing. */
static int set_up(void **state)
{
	(void)state;
	memset(&outcome, 0, sizeof(outcome));
	for (int64_t i = 0; i < COUNT; i++) {
		samples[i] = (struct sample){.time.ns = 5000 + i * (CLOCKS_NS_PER_S / 10),
			.load_un = i <= 500 ? i * 200 * UNITS_UN_PER_N : 0};
	}
	outcome.method = method_find("astm-c39");
	outcome.area_m2 = 0.008;
	outcome.judgement.maximum_at = samples[500].time;
	outcome.judgement.maximum_un = samples[500].load_un;
	struct rate *rate = &outcome.judgement.rate;
	rate->verdict = VERDICT_IN_BAND;
	rate->band_low_pa_s = 0.2e6;
	rate->band_high_pa_s = 0.3e6;
	rate->from = samples[250].time;
	rate->to = samples[450].time;
	rate->window_ns = 5 * CLOCKS_NS_PER_S;
	rate->highest_pa_s = 0.25e6;
	return 0;
}

static void load_in_kilonewtons(void **state)
{
	struct run_plot drawing;
	(void)state;
	assert_true(run_plot_load(&drawing, &curve));
	assert_string_equal(drawing.plot.title, "load, kN");
	check_near(drawing.points[500].x, 50, 1e-9);
	check_near(drawing.points[500].y, 100, 1e-9);
	check_near(drawing.plot.y.high, 100, 0);
	check_near(drawing.plot.span_from, 25, 1e-9);
	check_near(drawing.plot.span_to, 45, 1e-9);
	run_plot_finish(&drawing);
}

static void rate_of_a_ramp(void **state)
{
	struct run_plot drawing;
	(void)state;
	assert_true(run_plot_rate(&drawing, &curve));
	/* Up to the maximum only, and no rate where the window is not whole. */
	assert_int_equal(drawing.plot.count, 501);
	assert_true(isnan(drawing.points[24].y));
	check_near(drawing.points[25].y, 0.25, 1e-12);
	check_near(drawing.points[475].y, 0.25, 1e-12);
	assert_true(isnan(drawing.points[476].y));
	assert_true(drawing.plot.has_band);
	check_near(drawing.plot.band_high, 0.3, 1e-12);
	/* Both drawings have one axis of time. */
	check_near(drawing.plot.x.high, 60, 1e-9);
	run_plot_finish(&drawing);
}

static void rate_forgets_what_is_older_than_the_window(void **state)
{
	struct run_plot drawing;
	(void)state;
	/* Nothing for 20 s, then the ramp. */
	for (size_t i = 0; i < 200; i++)
		samples[i].load_un = samples[200].load_un;
	assert_true(run_plot_rate(&drawing, &curve));
	check_near(drawing.points[100].y, 0, 1e-12);
	check_near(drawing.points[226].y, 0.25, 1e-12);
	run_plot_finish(&drawing);
}

static void inch_pound_run(void **state)
{
	struct run_plot drawing;
	(void)state;
	outcome.method = method_find("astm-c39-inch-pound");
	assert_true(run_plot_load(&drawing, &curve));
	assert_string_equal(drawing.plot.title, "load, lbf");
	check_near(drawing.points[500].y, 1e5 / 4.4482216152605, 1e-6);
	run_plot_finish(&drawing);
}

static void no_rate_without_area(void **state)
{
	struct run_plot drawing;
	(void)state;
	outcome.area_m2 = 0;
	assert_false(run_plot_rate(&drawing, &curve));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup(load_in_kilonewtons, set_up),
		cmocka_unit_test_setup(rate_of_a_ramp, set_up),
		cmocka_unit_test_setup(rate_forgets_what_is_older_than_the_window, set_up),
		cmocka_unit_test_setup(inch_pound_run, set_up),
		cmocka_unit_test_setup(no_rate_without_area, set_up),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
