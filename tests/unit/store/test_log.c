/* SPDX-License-Identifier: MIT
 *
 * Somebody reads and does not stop: the writer goes on, the reader is named, and the log is cut
 * back once the reader has gone.
 */
#include "unit/check.h"
#include "unit/random.h"
#include "unit/store/fixture.h"

#include <signal.h>
#include <sqlite3.h>
#include <stdio.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

enum { BATCH = 1000 };

/* What open.c sets as journal_size_limit, and a log that is clearly beyond it. */
static const int64_t LIMIT = INT64_C(16) << 20;
static const int64_t LARGE = INT64_C(20) << 20;

static void read_for_ever(const char *path, int told)
{
	sqlite3 *db;

	if (sqlite3_open_v2(path, &db, SQLITE_OPEN_READONLY, NULL) != SQLITE_OK ||
		sqlite3_exec(db, "BEGIN; SELECT count(*) FROM chunk", NULL, NULL, NULL) !=
			SQLITE_OK ||
		write(told, "x", 1) != 1)
		_exit(1);
	for (;;)
		pause();
}

/* A process that holds a snapshot. */
static pid_t start_reader(const char *path)
{
	int pipes[2];
	char byte;

	assert_int_equal(pipe(pipes), 0);
	pid_t reader = fork();
	assert_true(reader >= 0);
	if (reader == 0)
		read_for_ever(path, pipes[1]);
	assert_int_equal(read(pipes[0], &byte, 1), 1);
	close(pipes[0]);
	close(pipes[1]);
	return reader;
}

static void write_batch(struct store *store, int64_t run, int64_t first, struct random *random)
{
	static struct reading readings[BATCH];

	for (int64_t i = 0; i < BATCH; i++)
		readings[i] = (struct reading){.time = {(first + i) * CLOCKS_NS_PER_MS},
			.value = {(int64_t)(random_bits(random) >> 20), -2},
			.unit = UNIT_KILONEWTON};
	fixture_begin(store);
	for (size_t cell = 0; cell < 2; cell++)
		for (int chunk = 0; chunk < 8; chunk++)
			assert_int_equal(
				store_readings_add(store, run, cell, readings, BATCH), STORE_OK);
	fixture_commit(store);
}

static void test_a_reader_that_stays(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	struct random random = {1};
	struct run_start start;
	char readers[200], expected[40];
	int64_t run, first = 0;
	int status;

	fixture_start(&start, "north", NULL, 2);
	fixture_begin(store);
	assert_int_equal(store_run_open(store, &start, &run), STORE_OK);
	fixture_commit(store);
	store_log_readers(store, readers, sizeof(readers));
	assert_string_equal(readers, "");

	pid_t reader = start_reader(*state);
	while (store_log_size(store) < LARGE)
		write_batch(store, run, first += BATCH, &random);
	store_log_readers(store, readers, sizeof(readers));
	snprintf(expected, sizeof(expected), "process %d (", (int)reader);
	if (strncmp(readers, expected, strlen(expected)) != 0)
		fail_msg("'%s' is not '%s'", readers, expected);

	kill(reader, SIGKILL);
	assert_int_equal(waitpid(reader, &status, 0), reader);
	store_log_readers(store, readers, sizeof(readers));
	assert_string_equal(readers, "");
	/* One commit copies it all into the database, the next one begins the log anew. */
	for (int i = 0; i < 2; i++)
		write_batch(store, run, first += BATCH, &random);
	assert_true(store_log_size(store) <= LIMIT);
	store_close(store);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(
			test_a_reader_that_stays, fixture_setup, fixture_teardown),
	};

	return cmocka_run_group_tests_name("log", tests, NULL, NULL);
}
