/* SPDX-License-Identifier: MIT
 *
 * The frequency of a press's swing, found on its ramp.
 */
#include "press.h"

#include "judge/swing.h"
#include "unit/check.h"

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
		cmocka_unit_test(noise_is_no_swing),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
