/* SPDX-License-Identifier: MIT
 *
 * The frequency of a press's swing, found on its ramp.
 */
#include "press.h"

#include "judge/swing.h"
#include "unit/check.h"

#include <math.h>
#include <stdlib.h>

static const double swing_n = 2000;

static double found(double hz, double swing_hz, double noise_n, double seconds)
{
	struct policy policy;
	policy_defaults(&policy);
	struct press *press = press_new(hz);
	press_to(press, 100e3, 50e3); /* a press swings only what it presses on */
	size_t from = press->count;
	press->noise_n = noise_n;
	press->swing_n = swing_hz > 0 ? swing_n : 0;
	press->swing_hz = swing_hz;
	press_to(press, press->load_n + 5e3 * seconds, 5e3);
	struct track track = press_track(press);
	double frequency = swing_frequency(&track, from, track.count - 1, &policy);
	track_finish(&track);
	free(press);
	return frequency;
}

static void swing_is_found(void **state)
{
	(void)state;
	for (double hz = 10; hz <= 1000; hz *= 10) {
		for (double swing_hz = 0.6; swing_hz <= 2.5; swing_hz += 0.19)
			check_near(found(hz, swing_hz, swing_n / 2, 10), swing_hz, 0.02);
	}
}

/* Readings at 10 a second, not quite evenly: a pump's ripple of 17.8 Hz is not the hunting of 2.2
 * Hz that it looks like. Evenly, nothing tells the two apart. */
static void ripple_read_seldom(void **state)
{
	(void)state;
	struct policy policy;
	policy_defaults(&policy);
	for (double uneven = 0; uneven <= 0.2; uneven += 0.1) {
		struct random random = {7};
		struct swing_points points = {.count = 100, .size = 1};
		for (size_t i = 0; i < points.count; i++) {
			points.time_s[i] = 0.1 * ((double)i + uneven * random_normal(&random));
			points.load[i] = sin(2 * M_PI * 17.8 * points.time_s[i]) +
					 0.1 * random_normal(&random);
		}
		double share;
		double hz = swing_strongest(&points, &policy, &share);
		check_near(hz, uneven > 0 ? 17.8 : 2.2, 0.02);
		assert_true(share > 0.95);
	}
}

/* Readings that come by fives are stamped together; the press swings as it did. */
static void swing_in_chunks(void **state)
{
	(void)state;
	struct policy policy;
	policy_defaults(&policy);
	struct press *press = press_new(10);
	press_to(press, 100e3, 50e3);
	size_t from = press->count / 5 * 5;
	press->swing_n = swing_n;
	press->swing_hz = 2.4;
	press_to(press, 160e3, 5e3);
	for (size_t i = 0; i + 4 < press->count; i += 5) {
		for (size_t k = 1; k < 5; k++)
			press->samples[i + 4 - k].time.ns =
				press->samples[i + 4].time.ns - (int64_t)k * 1000;
	}
	struct track track = press_track(press);
	check_near(swing_frequency(&track, from, track.count / 5 * 5 - 1, &policy), 2.4, 0.02);
	track_finish(&track);
	free(press);
}

static void noise_is_no_swing(void **state)
{
	(void)state;
	assert_true(found(50, 0, swing_n, 10) == 0);
	assert_true(found(10, 1, 0, 0.5) == 0); /* too few samples */
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(swing_is_found),
		cmocka_unit_test(ripple_read_seldom),
		cmocka_unit_test(swing_in_chunks),
		cmocka_unit_test(noise_is_no_swing),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
