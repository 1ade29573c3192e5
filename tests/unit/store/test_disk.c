/* SPDX-License-Identifier: MIT
 *
 * The promise of durability, on a disk that is unplugged at any moment and on one that fails: what
 * was committed is there, whole, sealed and derivable; at most the batch that was being committed
 * is missing. The same simulation breaks a database that does not sync: it can find something.
 *
 * STORE_CUTS=2000 for more power cuts than the check takes.
 */
#include "store/audit.h"
#include "store/sql.h"
#include "unit/check.h"
#include "unit/store/disk.h"
#include "unit/store/fixture.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { BATCH = 25, SESSION_BATCHES = 60, RUN_BATCHES = 12, CUTS = 200 };

/* Often, so that most cuts meet one. */
static const char checkpoints[] = "PRAGMA wal_autocheckpoint = 12";

/* A database with one closed run, which no later accident may touch. */
static char *master;

static void path_of(const char *path, const char *name, char *text, size_t size)
{
	snprintf(text, size, "%.*s/%s", (int)(strrchr(path, '/') - path), path, name);
}

static int write_master(void **state)
{
	fixture_setup(state);
	master = *state;
	struct store *store = fixture_open(master, STORE_WRITE);
	fixture_run(store, "north", "A-1", 1, 0.25, NULL);
	store_close(store);
	return 0;
}

/* What a session has been told is on disk. */
struct session {
	struct store *store;
	int64_t run;                          /* open now; 0: none */
	int64_t batches;                      /* of it, committed */
	int64_t pending_run, pending_batches; /* in the transaction that failed */
	int64_t closed;                       /* the newest run whose closing was committed */
	bool unsynced;                        /* synchronous = OFF */
};

static bool open_session(struct session *session, const char *path)
{
	struct message why;
	bool changed = false;

	*session = (struct session){.unsynced = session->unsynced, .closed = 1};
	if (store_open(&session->store, path, STORE_WRITE, &why) != STORE_OK)
		return false;
	if (store_key_take(session->store, &fixture_actor, (struct utc_time){1}, &changed) !=
		STORE_OK)
		return false;
	assert_false(changed);
	sqlite3_exec(session->store->db, checkpoints, NULL, NULL, NULL);
	if (session->unsynced)
		sqlite3_exec(session->store->db, "PRAGMA synchronous = OFF", NULL, NULL, NULL);
	return true;
}

static enum store_status add_batch(struct store *store, int64_t run, int64_t number)
{
	struct reading readings[BATCH];

	for (int64_t i = 0; i < BATCH; i++) {
		int64_t at = number * BATCH + i;
		readings[i] = (struct reading){.time = {at * 10 * CLOCKS_NS_PER_MS},
			.value = {at * 7, -2},
			.unit = UNIT_KILONEWTON};
	}
	return store_readings_add(store, run, 0, readings, BATCH);
}

/* One transaction as the daemon makes them: open, readings, or close. */
static enum store_status write_one(struct session *session)
{
	static struct outcome outcome;
	struct run_start start;
	int64_t run = session->run, batches = session->batches, closed = session->closed;
	enum store_status status = store_begin(session->store);

	if (status == STORE_OK && run == 0) {
		fixture_start(&start, "north", NULL, 1);
		status = store_run_open(session->store, &start, &run);
		batches = 0;
	}
	session->pending_run = run;
	session->pending_batches = batches + 1;
	if (status == STORE_OK)
		status = add_batch(session->store, run, batches++);
	if (status == STORE_OK && batches == RUN_BATCHES) {
		outcome.judgement.end = END_INTERRUPTED;
		status = store_run_close(session->store, run, &outcome, (struct utc_time){5});
		closed = run;
		run = 0;
	}
	if (status == STORE_OK)
		status = store_commit(session->store);
	if (status != STORE_OK) {
		store_rollback(session->store);
		return status;
	}
	session->run = run;
	session->batches = batches;
	session->closed = closed;
	return STORE_OK;
}

static bool in_order(void *context, size_t cell, const struct reading *reading)
{
	int64_t *next = context;

	if (cell != 0 || reading->value.mantissa != *next * 7)
		return false;
	++*next;
	return true;
}

/* Outcomes here are made up: what the readings give is not the matter. */
static void keep_seals(void *context, const struct audit_finding *finding)
{
	size_t *broken = context;

	if (finding->kind != AUDIT_FIELD && finding->kind != AUDIT_UNCLOSED)
		++*broken;
}

/* Everything that the session was told of is there, and nothing half. */
static bool holds(const char *path, const struct session *session)
{
	struct audit_summary summary;
	struct message why;
	struct store *store;
	size_t broken = 0;
	int64_t next = 0;

	if (store_open(&store, path, STORE_WRITE, &why) != STORE_OK) {
		if (getenv("STORE_LOUD"))
			print_message("%s\n", why.text);
		return false;
	}
	bool ok = audit_runs(store, NULL, 0, keep_seals, NULL, &broken, &summary) == STORE_OK &&
		  broken == 0 && (int64_t)summary.run_count >= session->closed;
	int64_t run = session->run ? session->run : session->pending_run;
	int64_t told = session->run ? session->batches : 0;
	ok = ok && (run == 0 || store_readings_each(store, run, in_order, &next) == STORE_OK);
	ok = ok && next % BATCH == 0 && next >= told * BATCH &&
	     next <= session->pending_batches * BATCH;
	if (!ok && getenv("STORE_LOUD"))
		print_message(
			"runs %d of %d, broken %d, run %d, readings %d, told %d, pending %d: %s\n",
			(int)summary.run_count, (int)session->closed, (int)broken, (int)run,
			(int)next, (int)(told * BATCH), (int)(session->pending_batches * BATCH),
			store_error(store));
	store_close(store);
	return ok;
}

/* One session that the power ends; true: what was left holds. */
static bool cut_once(const char *path, const char *after, uint64_t seed, bool unsynced)
{
	struct session session = {.unsynced = unsynced};

	disk_copy(master, path);
	disk_reset(path);
	disk_cut_at(1 + seed * 7919 % 420);
	if (open_session(&session, path)) {
		for (int i = 0; i < SESSION_BATCHES * 4 && !disk_is_cut(); i++)
			write_one(&session);
	}
	if (!disk_is_cut())
		print_message(
			"not cut: %s\n", session.store ? store_error(session.store) : "closed");
	assert_true(disk_is_cut());
	disk_leave(after, seed);
	store_close(session.store);
	disk_reset(after);
	return holds(after, &session);
}

/* Stops when enough are broken. */
static int count_broken(char *path, int cuts, bool unsynced, int enough)
{
	char after[300];
	int broken = 0;

	path_of(path, "after.db", after, sizeof(after));
	disk_copy(master, after); /* its key is what counts */
	disk_begin();
	for (int seed = 1; seed <= cuts && broken < enough; seed++) {
		bool held = cut_once(path, after, (uint64_t)seed, unsynced);
		if (!held && !unsynced)
			print_message("seed %d\n", seed);
		broken += !held;
	}
	disk_end();
	return broken;
}

static void test_the_power_goes(void **state)
{
	const char *more = getenv("STORE_CUTS");
	int cuts = more ? (int)strtol(more, NULL, 10) : CUTS;

	assert_int_equal(count_broken(*state, cuts, false, cuts), 0);
	print_message("%d power cuts, nothing lost that was told of\n", cuts);
}

static void test_the_simulation_breaks_what_does_not_sync(void **state)
{
	int broken = count_broken(*state, CUTS, true, 5);

	print_message("without syncs %d power cuts broke it\n", broken);
	assert_int_equal(broken, 5);
}

/* Writes a whole session in spite of a fault, as the writer does: a fresh connection, and again. */
static void insist(struct session *session, const char *path)
{
	struct message why;
	int64_t transactions = 0;
	int failed = 0;

	while (transactions < SESSION_BATCHES) {
		if (!session->store) {
			if (!open_session(session, path)) {
				store_close(session->store);
				session->store = NULL;
				assert_true(++failed < 5);
			}
			continue;
		}
		if (write_one(session) == STORE_OK) {
			transactions++;
			continue;
		}
		assert_true(++failed < 5);
		while (store_reopen(session->store, &why) != STORE_OK)
			assert_true(++failed < 5);
	}
}

/* The n-th call fails once: all is written all the same. */
static void fail_each(const char *path, enum disk_call call)
{
	uint64_t n = 0, total = 1;

	for (n = 1; n <= total; n += 1 + total / 90) {
		struct session session = {.unsynced = false};
		disk_copy(master, path);
		disk_reset(path);
		disk_fail(call, n, false);
		insist(&session, path);
		total = disk_count(call);
		store_close(session.store);
		disk_reset(path);
		if (!holds(path, &session))
			fail_msg("call %d, number %d: not all is there", (int)call, (int)n);
	}
	print_message("%d calls of kind %d, one failing at a time\n", (int)total, (int)call);
}

static void test_one_call_fails(void **state)
{
	disk_begin();
	for (int call = 0; call < DISK_CALLS; call++)
		fail_each(*state, (enum disk_call)call);
	disk_end();
}

/* From the n-th call on nothing works; then the disk is back: all that was told of is there. */
static void test_the_disk_fails_for_good(void **state)
{
	const char *path = *state;

	disk_begin();
	for (int call = 0; call < DISK_CALLS; call++) {
		for (uint64_t n = 1; n < 160; n += 7) {
			struct session session = {.unsynced = false};
			disk_copy(master, path);
			disk_reset(path);
			disk_fail((enum disk_call)call, n, true);
			if (open_session(&session, path)) {
				for (int i = 0; i < SESSION_BATCHES; i++) {
					if (write_one(&session) != STORE_OK)
						break;
				}
			}
			disk_fail((enum disk_call)call, 0, false);
			store_close(session.store);
			disk_reset(path);
			if (!holds(path, &session))
				fail_msg("call %d from number %d on", call, (int)n);
		}
	}
	disk_end();
}

/* A log that others keep open is written over itself by who finds it, and by nobody else: it may be
 * most of what is on the disk. */
static void test_a_log_is_renewed_once(void **state)
{
	struct session session = {.unsynced = false};
	struct message why;

	disk_begin();
	disk_copy(master, *state);
	disk_reset(*state);
	assert_true(open_session(&session, *state));
	assert_int_equal(write_one(&session), STORE_OK);
	sqlite3 *reader = fixture_connect(*state);
	assert_int_equal(
		sqlite3_exec(reader, "BEGIN; SELECT * FROM run", NULL, NULL, NULL), SQLITE_OK);
	assert_int_equal(store_reopen(session.store, &why), STORE_OK);
	/* What closing writes of the log into the database comes before, if anything does. */
	store_let_go(session.store);
	uint64_t before = disk_count(DISK_WRITE);
	assert_int_equal(store_reopen(session.store, &why), STORE_OK);
	assert_int_equal(disk_count(DISK_WRITE), before);
	store_close(session.store);
	before = disk_count(DISK_WRITE);
	assert_true(open_session(&session, *state));
	assert_true(disk_count(DISK_WRITE) > before);
	store_close(session.store);
	assert_int_equal(sqlite3_close(reader), SQLITE_OK);
	disk_end();
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		FIXTURE_TEST(test_the_power_goes),
		FIXTURE_TEST(test_the_simulation_breaks_what_does_not_sync),
		FIXTURE_TEST(test_a_log_is_renewed_once),
		FIXTURE_TEST(test_one_call_fails),
		FIXTURE_TEST(test_the_disk_fails_for_good),
	};

	return cmocka_run_group_tests_name("disk", tests, write_master, fixture_teardown);
}
