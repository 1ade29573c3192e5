/* SPDX-License-Identifier: MIT
 *
 * The daemon's way to a disk whose n-th call fails, once or until the disk returns two and a half
 * seconds later: recording goes on, whoever watches is told, and in the end everything is written:
 * nothing missing, nothing twice, every run as its press judged it live.
 *
 * Some n of each kind of call; with the argument "slow", or DAEMON_FAULTS=1, every one.
 */
#include "life.h"
#include "unit/check.h"
#include "unit/store/disk.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { RUNS = 6, SOME = 5, LASTS_TICKS = 50 };

static bool every;

struct fault {
	enum disk_call call;
	uint64_t n;
	bool lasts;
};

static void check(const struct fault *fault, const char *what)
{
	if (what)
		fail_msg("call %d, number %d%s: %s", (int)fault->call, (int)fault->n,
			fault->lasts ? " and on" : "", what);
}

/* Starts, and again when the disk does not let it. */
static void begin(const struct fault *fault)
{
	struct message why = {""};

	while (!life_begin(&why)) {
		check(fault, why.text[0] ? NULL : "it does not start and does not say why");
		life_end();
		disk_fail(fault->call, 0, false);
	}
}

static void live(const struct fault *fault)
{
	int refused = 0;

	for (int i = 0; i < LIFE_WHOLE_TICKS || life_is_refused(); i++) {
		life_tick();
		refused += life_is_refused();
		if (refused == LASTS_TICKS)
			disk_fail(fault->call, 0, false);
		if (i > 2 * LIFE_WHOLE_TICKS)
			check(fault, "the disk is back, and it does not go on");
	}
	check(fault, life.quiet ? "nobody was told of it" : NULL);
	check(fault, life.durable ? NULL : "nobody was told that it is over");
	check(fault, life.refused ? "something was refused for good" : NULL);
}

/* How many such calls there were. */
static uint64_t live_through(const struct fault *fault)
{
	life_renew();
	disk_fail(fault->call, fault->n, fault->lasts);
	begin(fault);
	live(fault);
	life_end();
	uint64_t total = disk_count(fault->call);
	disk_fail(fault->call, 0, false);
	if (fault->lasts) {
		/* It may have been the end that failed. */
		begin(fault);
		life_end();
	} else if (life.closed_count < RUNS) {
		check(fault, "not every run was closed");
	}
	check(fault, life_missing(0));
	check(fault, life_finding(fault->n % 16 == 0));
	return total;
}

static void fail_each(bool lasts)
{
	static const char *const names[] = {"writes", "syncs", "reads", "truncations",
		"openings and deletions", "locks", "mappings"};

	for (int call = 0; call < DISK_CALLS; call++) {
		uint64_t total = 1;
		int outages = 0, lives = 0;

		for (uint64_t n = 1; n <= total; n += every ? 1 : 1 + total / SOME, lives++) {
			struct fault fault = {(enum disk_call)call, n, lasts};

			total = live_through(&fault);
			outages += life.outages > 0;
		}
		print_message(
			"%d %s, %d lives, %d outages\n", (int)total, names[call], lives, outages);
	}
}

static void test_one_call_fails(void **state)
{
	(void)state;
	fail_each(false);
}

static void test_the_disk_goes_and_returns(void **state)
{
	(void)state;
	fail_each(true);
}

/* ---- a disk that stays away for longer than the memory lasts */

enum { HEALTHY_TICKS = 60, MORE_TICKS = 500, REST_TICKS = 60, RING_SIZE = 1024 };

/* Until every press rests and only memory is full: how many readings were lost. */
static uint64_t overflow(void)
{
	struct message why = {""};

	life_renew();
	assert_true(life_begin(&why));
	life_ticks(HEALTHY_TICKS);
	disk_fail(DISK_WRITE, 1, true);
	while (!life_lost())
		life_tick();
	life_ticks(MORE_TICKS);
	life.unloaded = true;
	life_ticks(REST_TICKS);
	assert_true(life_is_refused());
	disk_fail(DISK_WRITE, 0, false);
	return life_lost();
}

static void check_losses(const struct fault *fault, uint64_t lost)
{
	int64_t reading_count = 0, loading_count = 0;

	life_losses(&reading_count, &loading_count);
	check(fault, (uint64_t)reading_count == lost ? NULL : "not as many readings were lost");
	/* What is left of a loading whose run had to end is one more. */
	check(fault, life.opened + (size_t)loading_count == life.loadings + lost
			     ? NULL
			     : "not as many loadings were lost");
}

/* The disk returns, and then a call fails. How many there were until all was written. */
static uint64_t overflow_and(const struct fault *fault)
{
	uint64_t lost = overflow(), before = disk_count(fault->call);
	int refused = 0;

	disk_fail(fault->call, fault->n, fault->lasts);
	for (int i = 0; life_is_refused() || !i; i++) {
		life_tick();
		if (++refused == LASTS_TICKS)
			disk_fail(fault->call, 0, false);
		check(fault,
			i < 4 * LASTS_TICKS ? NULL : "the disk is back, and it does not go on");
	}
	uint64_t total = disk_count(fault->call) - before;
	check(fault, life.durable ? NULL : "nobody was told that it is over");
	/* Another outage: what was lost before is on record and not of this one. */
	disk_fail(DISK_WRITE, 1, false);
	life_ask("S-2");
	life_tick();
	assert_true(life_is_refused());
	life_end();
	disk_fail(fault->call, 0, false);
	check_losses(fault, lost);
	check(fault, life_missing(0));
	check(fault, life_finding(false));
	return total;
}

static void test_the_memory_is_full(void **state)
{
	(void)state;
	life.ring_size = RING_SIZE;
	life.ramp_ns = 16 * CLOCKS_NS_PER_S;
	for (int lasts = 0; lasts < 2; lasts++) {
		for (int call = DISK_WRITE; call <= DISK_SYNC; call++) {
			struct fault fault = {(enum disk_call)call, 0, false};
			uint64_t total = overflow_and(&fault);

			fault.lasts = lasts;
			/* What was lost is written last. */
			for (fault.n = every || total < 9 ? 1 : total - 7; fault.n <= total;
				fault.n += every ? 1 : 2)
				overflow_and(&fault);
		}
	}
	print_message("%d loadings, %d of them recorded\n", (int)life.loadings, (int)life.opened);
}

/* ---- a disk that does not answer */

enum { PATIENT_TICKS = 90, STUCK_TICKS = 20 };

static void test_the_disk_does_not_answer(void **state)
{
	const struct fault fault = {DISK_SYNC, 0, false};
	struct message why = {""};

	(void)state;
	life_renew();
	life.ramp_ns = 16 * CLOCKS_NS_PER_S;
	assert_true(life_begin(&why));
	life_ticks(HEALTHY_TICKS);
	life.stuck = true;
	life_ticks(PATIENT_TICKS);
	assert_true(life.durable);
	life_ticks(STUCK_TICKS);
	assert_false(life.durable);
	life.stuck = false;
	life_ticks(1);
	assert_true(life.durable);
	assert_int_equal(life.outages, 1);
	life_end();
	check(&fault, life_missing(0));
	check(&fault, life_finding(false));
}

int main(int argc, char **argv)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_one_call_fails),
		cmocka_unit_test(test_the_disk_goes_and_returns),
		cmocka_unit_test(test_the_memory_is_full),
		cmocka_unit_test(test_the_disk_does_not_answer),
	};

	every = getenv("DAEMON_FAULTS") || (argc > 1 && strcmp(argv[1], "slow") == 0);
	return cmocka_run_group_tests(tests, life_setup, life_teardown);
}
