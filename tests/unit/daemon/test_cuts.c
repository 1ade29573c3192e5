/* SPDX-License-Identifier: MIT
 *
 * The power goes at any moment while presses are recorded, also after a sync that failed. What was
 * said to be stored is there when the daemon comes up again, whole, sealed, as it was judged; runs
 * that were open go on, or are closed from their readings where that took too long. The same
 * simulation breaks a database that does not sync: it can find something.
 *
 * 40 cuts; with the argument "slow" 1000, DAEMON_CUTS=20000 for more. DAEMON_CUT=17 is one of
 * them.
 */
#include "life.h"
#include "unit/check.h"
#include "unit/store/disk.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { CUTS = 40, CUTS_SLOW = 1000, LASTS_TICKS = 50, SOON_STEPS = 60, TO_THE_END_TICKS = 170 };

static int cuts = CUTS;
static uint64_t steps, syncs; /* of a life that nothing happens to */
static int resumed, derived;

/* What befalls a life: the power goes, at a disk that was well until then, after a sync that
 * failed, or soon after a time in which none came through and at whose end the daemon was started
 * anew, or was not. */
enum before { BEFORE_WELL, BEFORE_ONE, BEFORE_LONG, BEFORE_START, BEFORE_COUNT };

static bool start_anew(void)
{
	struct message why = {""};

	life_end();
	disk_fail(DISK_SYNC, 0, false);
	return life_begin(&why);
}

/* Until the power is gone. */
static void live(uint64_t *seed, enum before before)
{
	struct message why = {""};
	int refused = 0;

	life_renew();
	if (before < BEFORE_LONG)
		disk_cut_at(1 + disk_draw(seed, steps));
	if (before != BEFORE_WELL)
		disk_fail(DISK_SYNC, 1 + disk_draw(seed, syncs / 2), before >= BEFORE_LONG);
	bool up = life_begin(&why);
	for (int i = 0; up && i < 2 * LIFE_WHOLE_TICKS && !disk_is_cut(); i++) {
		life_tick();
		refused += life_is_refused();
		if (before < BEFORE_LONG || refused != LASTS_TICKS)
			continue;
		up = before == BEFORE_LONG || start_anew();
		disk_fail(DISK_SYNC, 0, false);
		disk_cut_at(1 + disk_draw(seed, SOON_STEPS));
		refused++;
	}
	life_end();
}

static size_t runs_going(void)
{
	size_t count = 0;

	for (size_t i = 0; i < LIFE_PRESSES; i++)
		count += life_run(i) > 0;
	return count;
}

/* NULL, or what does not hold of what was left. starts: before this one. */
static const char *live_again(uint64_t *seed, size_t starts, bool whole)
{
	static struct message why;
	bool soon = disk_draw(seed, 3) > 0;

	life_pass(soon ? CLOCKS_NS_PER_S : 60 * CLOCKS_NS_PER_S);
	if (!life_begin(&why)) {
		life_end();
		return why.text;
	}
	const char *wrong = life_missing(starts);
	size_t unclosed = life_unclosed(), going = runs_going();

	if (!wrong && unclosed != going)
		wrong = "a run is neither taken up again nor closed";
	if (!wrong && !soon && going)
		wrong = "a run is taken up again after a minute";
	resumed += (int)going;
	derived += !soon;
	life_ticks(TO_THE_END_TICKS);
	if (!wrong && life.refused)
		wrong = "something was refused";
	life_end();
	wrong = wrong ? wrong : life_missing(starts + 1);
	return wrong ? wrong : life_finding(whole);
}

static const char *cut(uint64_t number, bool unsynced)
{
	uint64_t seed = number * 2654435761u + 1;
	enum before before = unsynced ? BEFORE_WELL : (enum before)(number % BEFORE_COUNT);

	life.unsynced = unsynced;
	live(&seed, before);
	life.unsynced = false;
	assert_true(disk_is_cut());
	disk_leave(life.database, number);
	disk_reset(life.database);
	return live_again(&seed, before == BEFORE_START, number % 16 == 0);
}

static void measure(void)
{
	struct message why = {""};

	if (steps)
		return;
	life_renew();
	assert_true(life_begin(&why));
	life_ticks(LIFE_WHOLE_TICKS);
	life_end();
	steps = disk_steps();
	syncs = disk_count(DISK_SYNC);
	print_message("%d steps, %d syncs\n", (int)steps, (int)syncs);
}

static void test_the_power_goes(void **state)
{
	const char *one = getenv("DAEMON_CUT");
	uint64_t first = one ? strtoull(one, NULL, 10) : 1;

	(void)state;
	measure();
	for (uint64_t number = first; number < first + (one ? 1 : (uint64_t)cuts); number++) {
		const char *wrong = cut(number, false);

		if (wrong)
			fail_msg("cut %d: %s", (int)number, wrong);
	}
	print_message("%d power cuts: %d runs went on, %d starts came too late for that\n", cuts,
		resumed, derived);
}

static void test_the_simulation_breaks_what_does_not_sync(void **state)
{
	int broken = 0;

	(void)state;
	measure();
	for (uint64_t number = 1; number <= CUTS && broken < 5; number++) {
		const char *wrong = cut(number, true);

		if (wrong)
			print_message("cut %d, nothing synced: %s\n", (int)number, wrong);
		broken += wrong != NULL;
	}
	assert_int_equal(broken, 5);
}

int main(int argc, char **argv)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_the_power_goes),
		cmocka_unit_test(test_the_simulation_breaks_what_does_not_sync),
	};
	const char *more = getenv("DAEMON_CUTS");

	if (argc > 1 && strcmp(argv[1], "slow") == 0)
		cuts = CUTS_SLOW;
	cuts = more ? (int)strtol(more, NULL, 10) : cuts;
	return cmocka_run_group_tests(tests, life_setup, life_teardown);
}
