/* SPDX-License-Identifier: MIT
 *
 * The player: pauses, order of the pieces, times of the lines, waiting for a command,
 * repeatability.
 */
#include "player.h"

#include "base/units.h"
#include "unit/check.h"

static struct sample recorded[] = {
	{.time.ns = 5 * CLOCKS_NS_PER_S, .load_un = 1000 * UNITS_UN_PER_N},
	{.time.ns = 5 * CLOCKS_NS_PER_S + 200123456, .load_un = 2000 * UNITS_UN_PER_N},
	{.time.ns = 6 * CLOCKS_NS_PER_S, .load_un = 4000 * UNITS_UN_PER_N},
};

static struct player_piece pieces[] = {
	{.recorded = {.samples = recorded, .count = 3}, .name = "recorded"},
	{.recorded = {.samples = recorded, .count = 3}, .name = "again"},
};

static struct player_setup make_setup(void)
{
	return (struct player_setup){
		.pieces = pieces,
		.piece_count = 2,
		.specimen = {.area_m2 = 0.01, .strength_pa = 1e6, .rate_pa_per_s = 1e6},
		.line_hz = 10,
		.recorded_times = true,
		.speed = 1,
		.pause_s = 1,
	};
}

enum { TICKS_MAX = 200 };

static size_t play(const struct player_setup *setup, struct player_tick *ticks)
{
	struct player player;
	struct random random;
	size_t count = 0;
	random_init(&random, 1);
	player_init(&player, setup);
	while (player_next(&player, &random, &ticks[count++]))
		assert_true(count < TICKS_MAX);
	return count;
}

static void test_recorded_samples_keep_their_times(void **state)
{
	(void)state;
	struct player_setup setup = make_setup();
	struct player_tick ticks[TICKS_MAX];
	size_t count = play(&setup, ticks);

	/* 10 lines of pause, 3 samples, 10 lines of pause, 3 samples, 10 lines */
	assert_int_equal(count, 36);
	assert_true(ticks[10].begins);
	assert_int_equal(ticks[11].time_ns - ticks[10].time_ns, 200123456);
	assert_int_equal(ticks[12].time_ns - ticks[10].time_ns, CLOCKS_NS_PER_S);
	assert_true(ticks[12].ends);
	check_near(ticks[9].load_newton, 0, 0);
	check_near(ticks[10].load_newton, 1000, 1e-9);
	check_near(ticks[12].load_newton, 4000, 1e-9);
	check_near(ticks[13].load_newton, 0, 0);
	assert_int_equal(ticks[23].piece, 1);
	assert_true(ticks[23].begins);
}

static void test_recorded_samples_between_times(void **state)
{
	(void)state;
	struct player_setup setup = make_setup();
	struct player_tick ticks[TICKS_MAX];
	setup.recorded_times = false;
	play(&setup, ticks);

	check_near(ticks[11].load_newton, 1000 + 1000 * 0.1 / 0.200123456, 1e-6);
	check_near(ticks[16].load_newton, 2000 + 2000 * (0.6 - 0.200123456) / 0.799876544, 1e-6);
}

static void test_waits_for_the_command(void **state)
{
	(void)state;
	struct player_setup setup = make_setup();
	struct player player;
	struct random random;
	struct player_tick tick;
	setup.start_on_command = true;
	random_init(&random, 1);
	player_init(&player, &setup);
	for (int i = 0; i < 50; i++) {
		assert_true(player_next(&player, &random, &tick));
		assert_false(tick.begins);
	}
	player_start(&player);
	player_start(&player);
	assert_true(player_next(&player, &random, &tick));
	assert_true(tick.begins);
	for (int i = 0; i < 50; i++) {
		assert_true(player_next(&player, &random, &tick));
		assert_false(tick.begins);
	}
}

static void test_same_seed_same_loads(void **state)
{
	(void)state;
	struct player_setup setup = make_setup();
	static struct player_tick one[TICKS_MAX], two[TICKS_MAX];
	setup.noise_newton = 20;
	setup.hunting_newton = 100;
	setup.hunting_hz = 1.2;
	size_t count = play(&setup, one);
	assert_int_equal(play(&setup, two), count);
	for (size_t i = 0; i < count; i++)
		check_near(one[i].load_newton, two[i].load_newton, 0);
	assert_true(one[3].load_newton != one[4].load_newton);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_recorded_samples_keep_their_times),
		cmocka_unit_test(test_recorded_samples_between_times),
		cmocka_unit_test(test_waits_for_the_command),
		cmocka_unit_test(test_same_seed_same_loads),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
