/* SPDX-License-Identifier: MIT
 *
 * Sines and cosines of turns, against those of the mathematics library.
 */
#include "base/turn.h"
#include "unit/check.h"
#include "unit/random.h"

static void like_the_library(void **state)
{
	(void)state;
	struct random random = {1};
	for (int i = 0; i < 200000; i++) {
		double turns = random_between(&random, -2, 2);
		struct turn_wave wave = turn_wave(turns);
		/* the library's angle is rounded: by half a digit of it */
		check_near(wave.sine, sin(2 * M_PI * turns), 2.5e-15);
		check_near(wave.cosine, cos(2 * M_PI * turns), 2.5e-15);
		check_near(wave.sine * wave.sine + wave.cosine * wave.cosine, 1, 1e-15);
	}
}

static void whole_quarters(void **state)
{
	(void)state;
	for (int quarters = -4000000; quarters < 4000000; quarters += 4) {
		for (int k = 0; k < 4; k++) {
			const double sines[] = {0, 1, 0, -1};
			struct turn_wave wave = turn_wave((quarters + k) * 0.25);
			assert_true(wave.sine == sines[k] && wave.cosine == sines[(k + 1) % 4]);
		}
	}
	/* exactly: a million turns more are nothing */
	struct turn_wave near = turn_wave(0.125), far = turn_wave(1000000.125);
	assert_true(near.sine == far.sine && near.cosine == far.cosine);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(like_the_library),
		cmocka_unit_test(whole_quarters),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
