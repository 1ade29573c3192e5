/* SPDX-License-Identifier: MIT
 *
 * A writer killed at any moment: what it committed is there, the file is whole, and the next writer
 * goes on with the run that was left open.
 */
#include "store/audit.h"
#include "unit/check.h"
#include "unit/store/fixture.h"

#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

enum { KILLS = 20, BATCH = 25 };

#define STEP_NS (10 * CLOCKS_NS_PER_MS)

static void write_batch(struct store *store, int64_t run, int64_t number)
{
	struct reading readings[BATCH];

	for (int64_t i = 0; i < BATCH; i++)
		readings[i] = (struct reading){.time = {(number * BATCH + i) * STEP_NS},
			.value = {number * BATCH + i, -2},
			.unit = UNIT_KILONEWTON};
	if (store_begin(store) != STORE_OK ||
		store_readings_add(store, run, 0, readings, BATCH) != STORE_OK ||
		store_commit(store) != STORE_OK)
		_exit(1);
}

static int64_t open_run(struct store *store)
{
	struct run_start start;
	int64_t run = 0;

	fixture_start(&start, "north", NULL, 1);
	if (store_begin(store) != STORE_OK || store_run_open(store, &start, &run) != STORE_OK ||
		store_commit(store) != STORE_OK)
		_exit(1);
	return run;
}

/* Writes batch after batch, tells of each once it is committed, until it is killed. */
static void write_for_ever(const char *path, int told)
{
	struct message why;
	struct store *store;
	int64_t run = 1;
	struct run_record record;

	bool changed = false;

	if (store_open(&store, path, STORE_WRITE, &why) != STORE_OK ||
		store_key_take(store, &fixture_actor, (struct utc_time){1}, &changed) != STORE_OK)
		_exit(1);
	if (store_run_load(store, run, &record) != STORE_OK)
		run = open_run(store);
	int64_t number = record.row.reading_count / BATCH;
	for (;; number++) {
		write_batch(store, run, number);
		if (write(told, &number, sizeof(number)) != sizeof(number))
			_exit(1);
	}
}

struct order {
	int64_t next;
};

static bool in_order(void *context, size_t cell, const struct reading *reading)
{
	struct order *order = context;

	assert_int_equal(cell, 0);
	assert_int_equal(reading->value.mantissa, order->next);
	assert_int_equal(reading->time.ns, order->next * STEP_NS);
	order->next++;
	return true;
}

/* Number of the last batch that was told of. */
static int64_t run_and_kill(const char *path, int told_before_the_kill)
{
	int64_t number = -1, last = -1;
	int pipes[2], status;

	assert_int_equal(pipe(pipes), 0);
	pid_t child = fork();
	assert_true(child >= 0);
	if (child == 0) {
		close(pipes[0]);
		write_for_ever(path, pipes[1]);
	}
	close(pipes[1]);
	for (int i = 0; i < told_before_the_kill; i++) {
		assert_int_equal(read(pipes[0], &number, sizeof(number)), sizeof(number));
		last = number;
	}
	kill(child, SIGKILL);
	while (read(pipes[0], &number, sizeof(number)) == sizeof(number))
		last = number;
	close(pipes[0]);
	assert_int_equal(waitpid(child, &status, 0), child);
	assert_true(WIFSIGNALED(status));
	return last;
}

static void nothing_found(void *context, const struct audit_finding *finding)
{
	(void)context;
	assert_int_equal(finding->kind, AUDIT_UNCLOSED);
}

static void test_killed_again_and_again(void **state)
{
	for (int kills = 0; kills < KILLS; kills++) {
		struct audit_summary summary;
		struct order order = {0};
		int64_t last = run_and_kill(*state, 1 + kills * 3);
		struct store *store = fixture_open(*state, STORE_READ);

		assert_int_equal(store_readings_each(store, 1, in_order, &order), STORE_OK);
		/* All that was told of, and at most the batch that was being told. */
		assert_true(order.next >= (last + 1) * BATCH);
		assert_true(order.next <= (last + 2) * BATCH);
		assert_int_equal(
			audit_runs(store, NULL, 0, nothing_found, NULL, NULL, &summary), STORE_OK);
		assert_int_equal(summary.unclosed_count, 1);
		store_close(store);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(
			test_killed_again_and_again, fixture_setup, fixture_teardown),
	};

	return cmocka_run_group_tests_name("kill", tests, NULL, NULL);
}
