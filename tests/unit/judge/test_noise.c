/* SPDX-License-Identifier: MIT
 *
 * The standard error of a window's slope, against what slopes in fact do: many windows on ramps
 * whose rate is known, under noise, a coarse display and hunting.
 */
#include "press.h"

#include "judge/noise.h"
#include "unit/check.h"

#include <stdlib.h>

static const double ramp_n_s = 4418;
static const int64_t window_ns = 5 * CLOCKS_NS_PER_S;

/* How slopes of all windows of a ramp depart from its rate, in N/s, beside what noise says. */
struct departures {
	double root_mean_square, worst; /* of the departures */
	double error;                   /* mean of noise_error over the windows */
	double worst_ratio;             /* largest departure / its own error */
};

static struct noise measured;

/* Draws a minute of ramp with what press has laid over it, and frees the press. */
static struct departures observe(struct press *press)
{
	struct policy policy;
	struct departures seen = {0};
	policy_defaults(&policy);
	press_to(press, 60 * ramp_n_s, ramp_n_s);
	struct track track = press_track(press);
	noise_measure(&measured, &track, 0, track.count - 1, &policy);
	struct window window;
	size_t count = 0;
	window_init(&window, window_ns, 0);
	while (window.next < track.count) {
		struct slope_fit fit;
		window_advance(&window, &track, window.next + 1);
		if (window_reach(&window) < 0.97 || !slope_fit(&window.slope, &fit))
			continue;
		double off = fabs(fit.rate_n_s - ramp_n_s);
		double error = noise_error(&measured, &fit, track_time_ns(&track, window.first),
			track_time_ns(&track, window.next - 1), 0);
		seen.root_mean_square += off * off;
		seen.worst = fmax(seen.worst, off);
		seen.error += error;
		seen.worst_ratio = fmax(seen.worst_ratio, off / error);
		count++;
	}
	seen.root_mean_square = sqrt(seen.root_mean_square / (double)count);
	seen.error /= (double)count;
	track_finish(&track);
	free(press);
	return seen;
}

/* The ramp itself leaves nothing in the noise. */
static void clean_ramp(void **state)
{
	(void)state;
	struct departures seen = observe(press_new(50));
	check_near(measured.white_n, 0, 1e-5);
	check_near(measured.swing_n, 0, 1e-5);
	check_near(seen.error, 0, ramp_n_s * 0.01); /* only the step: each sample is one */
}

/* White noise is measured as it was drawn, and the error is the textbook's or a little more: means
 * over 0.1 s of white noise look like hunting. */
static void white_noise(void **state)
{
	(void)state;
	const double rates[] = {10, 50, 1000};
	for (size_t i = 0; i < 3; i++) {
		struct press *press = press_new(rates[i]);
		press->noise_n = 200;
		struct departures seen = observe(press);
		check_near(measured.white_n, 200, 200 * (rates[i] < 1000 ? 0.10 : 0.01));
		double textbook = 200 / (5 * sqrt(5 * rates[i] / 12));
		assert_true(seen.error > 0.9 * textbook && seen.error < 2 * textbook);
		assert_true(seen.root_mean_square < 1.2 * seen.error);
		assert_true(seen.worst_ratio < 4);
	}
}

/* A staircase: the error covers the worst of the windows by two, and is no excuse. */
static void coarse_display(void **state)
{
	(void)state;
	const double steps[] = {100, 500, 1000, 10000};
	for (size_t i = 0; i < 4; i++) {
		struct press *press = press_new(50);
		press->step_n = steps[i];
		struct departures seen = observe(press);
		check_near(measured.step_n, steps[i], 1e-6);
		assert_true(seen.worst_ratio < 2);
		assert_true(seen.error < (steps[i] < 5000 ? 1 : 2) * seen.worst);
	}
}

/* Noise before rounding makes the staircase straight: at 0.43 of a step hardly anything of it is
 * left, at 0.2 nearly half, at 0.1 nearly all. Less than there is, is never said. */
static void noise_smooths_steps(void **state)
{
	(void)state;
	struct press *press = press_new(50);
	press->step_n = 10000;
	press->noise_n = 4300;
	struct departures seen = observe(press);
	assert_true(seen.worst_ratio < 4);
	assert_true(seen.error < 1.5 * seen.root_mean_square);
	const double parts[] = {0.05, 0.1, 0.2, 0.3};
	for (size_t i = 0; i < 4; i++) {
		press = press_new(50);
		press->step_n = 1000;
		press->noise_n = 1000 * parts[i];
		seen = observe(press);
		assert_true(measured.stair_left > exp(-2 * pow(M_PI * parts[i], 2)) - 0.05);
	}
}

/* Hunting at 0.6 to 2.5 Hz. For a pure sine the worst departure is twice the true error; what is
 * measured is up to an eighth smaller at the ends of the record. The error is no excuse:
 * the worst windows depart by half of it at least. */
static void hunting(void **state)
{
	(void)state;
	const double hertz[] = {0.6, 1, 1.7, 2.5};
	for (size_t i = 0; i < 4; i++) {
		struct press *press = press_new(50);
		press->swing_n = 1000;
		press->swing_hz = hertz[i];
		struct departures seen = observe(press);
		check_near(measured.swing_n, 1000 / sqrt(2), 1000 / sqrt(2) / 5);
		assert_true(seen.worst_ratio < 2 / 0.88);
		assert_true(seen.worst > seen.error / 2);
	}
}

/* A pump's ripple that is seen as 4.4 Hz, by ten readings a second: no more of it moves a slope
 * than of any other swing, 6 / W^2 times the integral at either end, and none of it is noise. */
static void ripple(void **state)
{
	(void)state;
	struct press *press = press_new(10);
	press->swing_n = 1000;
	press->swing_hz = 14.4;
	press->noise_n = 10;
	struct departures seen = observe(press);
	assert_true(measured.white_n < 200);
	double error = 6.0 / 25 * 1000 / (2 * 3.14159 * 4.4);
	assert_true(seen.error > 0.8 * error && seen.error < 1.6 * error);
	assert_true(seen.worst_ratio < 2);
}

/* A short run of a quiet press, with a kink and a step in it: neither is a swing, and a slope is as
 * certain as if they were not there. */
static void a_kink_is_no_swing(void **state)
{
	(void)state;
	struct policy policy;
	policy_defaults(&policy);
	struct press *press = press_new(100);
	press->noise_n = 20;
	press_to(press, 4 * ramp_n_s, ramp_n_s);
	press_to(press, 8 * ramp_n_s, 2 * ramp_n_s);
	press_jump(press, 8.5 * ramp_n_s);
	press_to(press, 12 * ramp_n_s, ramp_n_s);
	struct track track = press_track(press);
	noise_measure(&measured, &track, 0, track.count - 1, &policy);
	struct slope_fit fit = {.rate_n_s = ramp_n_s, .time_spread_s = 1.5 * sqrt(150 / 12.0)};
	double error =
		noise_error(&measured, &fit, 4 * CLOCKS_NS_PER_S, 11 * CLOCKS_NS_PER_S / 2, 0);
	assert_true(error < 0.02 * ramp_n_s);
	track_finish(&track);
	free(press);
}

/* Readings that are missing while the press hunts make a slope less certain. */
static void missing_readings(void **state)
{
	(void)state;
	struct press *press = press_new(50);
	press->swing_n = 1000;
	press->swing_hz = 1;
	observe(press);
	struct slope_fit fit = {.rate_n_s = ramp_n_s, .time_spread_s = 20};
	double whole = noise_error(&measured, &fit, 0, window_ns, 0);
	double half = noise_error(&measured, &fit, 0, window_ns, 0.5);
	check_near(half * half - whole * whole, measured.swing_n * measured.swing_n / 25,
		1e-9 * half * half);
}

/* Three samples are enough to ask; there is no hunting to be seen in them. */
static void hardly_any_samples(void **state)
{
	(void)state;
	struct policy policy;
	struct slope_point points[] = {{0, 0}, {1000000000, 5000000}, {2000000000, 10000000}};
	struct track track = {.fresh = points, .count = 3, .capacity = 3};
	policy_defaults(&policy);
	noise_measure(&measured, &track, 0, 2, &policy);
	check_near(measured.white_n, 0, 1e-9);
	check_near(measured.swing_n, 0, 1e-9);
	check_near(measured.step_n, 5, 1e-9);
	struct slope_fit fit = {.rate_n_s = 5, .time_spread_s = 1.4};
	double error = noise_error(&measured, &fit, 0, 2000000000, 0);
	assert_true(error >= 0 && error < 5); /* a number */
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(clean_ramp),
		cmocka_unit_test(white_noise),
		cmocka_unit_test(coarse_display),
		cmocka_unit_test(noise_smooths_steps),
		cmocka_unit_test(hunting),
		cmocka_unit_test(ripple),
		cmocka_unit_test(a_kink_is_no_swing),
		cmocka_unit_test(missing_readings),
		cmocka_unit_test(hardly_any_samples),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
