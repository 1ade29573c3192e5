/* SPDX-License-Identifier: MIT
 *
 * Copies that are stopped, killed or spoilt: none takes the name of a good one, what they leave
 * behind is gone after the next one, which is whole.
 */
#include "store/backup.h"
#include "unit/check.h"
#include "unit/random.h"
#include "unit/store/fixture.h"
#include "unit/store/forge.h"

#include <fcntl.h>
#include <signal.h>
#include <sqlite3.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

/* More than one step of copying has pages. */
enum { BATCH = 1000, BATCHES = 300 };

static void fill(struct store *store)
{
	static struct reading readings[BATCH];
	struct random random = {1};

	int64_t run = fixture_run_open(store, "north", NULL);
	fixture_begin(store);
	for (int64_t batch = 0; batch < BATCHES; batch++) {
		for (int64_t i = 0; i < BATCH; i++)
			readings[i] =
				(struct reading){.time = {(batch * BATCH + i) * CLOCKS_NS_PER_MS},
					.value = {(int64_t)(random_bits(&random) >> 1), -2},
					.unit = UNIT_KILONEWTON};
		assert_int_equal(store_readings_add(store, run, 0, readings, BATCH), STORE_OK);
	}
	fixture_commit(store);
}

struct accident {
	char copy[300], part[310], journal[320];
	size_t calls; /* of the progress hook */
	size_t at;    /* the call at which it happens */
	bool stop, die, spoil;
	const char *original; /* the database; in the copy a byte is spoilt of the blob that */
	const char *query;    /* this finds in it */
	struct stat before;
};

/* A byte in the last row of each page. */
static void spoil(const char *path)
{
	char byte = 0;
	int file = open(path, O_RDWR | O_CLOEXEC);

	assert_true(file >= 0);
	for (off_t at = 2048 * 3 - 40; pread(file, &byte, 1, at) == 1; at += 2048) {
		byte ^= 1;
		assert_int_equal(pwrite(file, &byte, 1, at), 1);
	}
	close(file);
}

/* A byte inside a blob: the page is as good as before. */
static void spoil_blob(const char *original, const char *query, const char *path)
{
	static char bytes[1 << 20];
	sqlite3_stmt *row;
	sqlite3 *db = fixture_connect(original);
	int file = open(path, O_RDWR | O_CLOEXEC);
	ssize_t size = read(file, bytes, sizeof(bytes));

	assert_true(size > 0 && size < (ssize_t)sizeof(bytes));
	assert_int_equal(sqlite3_prepare_v2(db, query, -1, &row, NULL), SQLITE_OK);
	assert_int_equal(sqlite3_step(row), SQLITE_ROW);
	char *found = memmem(bytes, (size_t)size, sqlite3_column_blob(row, 0),
		(size_t)sqlite3_column_bytes(row, 0));
	assert_non_null(found);
	found += sqlite3_column_bytes(row, 0) / 2;
	*found ^= 1;
	assert_int_equal(pwrite(file, found, 1, found - bytes), 1);
	sqlite3_finalize(row);
	assert_int_equal(sqlite3_close(db), SQLITE_OK);
	close(file);
}

static bool happen(void *context, size_t done, size_t total)
{
	struct accident *accident = context;

	(void)done, (void)total;
	/* Who has been told to stop stays so. */
	if (++accident->calls != accident->at)
		return !accident->stop || accident->at == 0 || accident->calls < accident->at;
	if (accident->die)
		raise(SIGKILL);
	if (accident->spoil)
		spoil(accident->part);
	if (accident->original)
		spoil_blob(accident->original, accident->query, accident->part);
	return !accident->stop;
}

static enum store_status back_up(struct accident *accident, const char *path)
{
	struct backup_hooks hooks = {happen, accident};
	struct store *store = fixture_open(path, STORE_READ);
	struct message why = {""};
	int64_t runs = 0;
	enum store_status status = backup_write(store, accident->copy, &hooks, &runs, &why);

	store_close(store);
	if (status != STORE_OK && status != STORE_NONE)
		assert_true(why.text[0]);
	if (status == STORE_OK)
		assert_int_equal(runs, 1);
	return status;
}

static void set_up(struct accident *accident, const char *path, bool large)
{
	struct store *store = fixture_open(path, STORE_WRITE);

	*accident = (struct accident){.at = 0};
	snprintf(accident->copy, sizeof(accident->copy), "%s.copy", path);
	snprintf(accident->part, sizeof(accident->part), "%s.part", accident->copy);
	snprintf(accident->journal, sizeof(accident->journal), "%s-journal", accident->part);
	fixture_run(store, "north", "A-1", 1, 0.25, NULL);
	if (large)
		fill(store);
	store_close(store);
	assert_int_equal(back_up(accident, path), STORE_OK);
	assert_true(accident->calls > 2);
	assert_int_equal(stat(accident->copy, &accident->before), 0);
}

/* The copy that was there is there still, the very same file. */
static void check_untouched(const struct accident *accident)
{
	struct stat now;

	assert_int_equal(stat(accident->copy, &now), 0);
	assert_int_equal(now.st_ino, accident->before.st_ino);
	assert_int_equal(now.st_size, accident->before.st_size);
	assert_int_equal(now.st_mtim.tv_nsec, accident->before.st_mtim.tv_nsec);
}

static void check_next(struct accident *accident, const char *path)
{
	accident->at = 0;
	assert_int_equal(back_up(accident, path), STORE_OK);
	assert_int_equal(access(accident->part, F_OK), -1);
	assert_int_equal(access(accident->journal, F_OK), -1);
	assert_int_equal(stat(accident->copy, &accident->before), 0);
}

static void test_stopped(void **state)
{
	struct accident accident;

	set_up(&accident, *state, true);
	size_t calls = accident.calls;
	accident.stop = true;
	for (accident.at = 1; accident.at <= calls; accident.at += 1 + calls / 6) {
		accident.calls = 0;
		assert_int_equal(back_up(&accident, *state), STORE_NONE);
		check_untouched(&accident);
		assert_int_equal(access(accident.part, F_OK), -1);
		assert_int_equal(access(accident.journal, F_OK), -1);
	}
	check_next(&accident, *state);
	unlink(accident.copy);
}

static void test_killed(void **state)
{
	struct accident accident;
	bool left = false;

	set_up(&accident, *state, true);
	size_t calls = accident.calls;
	accident.die = true;
	for (size_t at = 1; at <= calls; at += 1 + calls / 6) {
		int status = 0;
		pid_t child;
		accident.calls = 0;
		accident.at = at;
		child = fork();
		assert_true(child >= 0);
		if (child == 0) {
			back_up(&accident, *state);
			_exit(0);
		}
		assert_int_equal(waitpid(child, &status, 0), child);
		assert_true(WIFSIGNALED(status));
		check_untouched(&accident);
		left = left || access(accident.part, F_OK) == 0;
		check_next(&accident, *state);
	}
	assert_true(left);
	unlink(accident.copy);
}

/* A disk that gives back something else than was written. */
static void test_spoilt(void **state)
{
	struct accident accident;

	set_up(&accident, *state, false);
	accident.spoil = true;
	/* One step copies it all; then it is verified. */
	accident.calls = 0;
	accident.at = 1;
	enum store_status status = back_up(&accident, *state);
	assert_true(status == STORE_CORRUPT || status == STORE_IO);
	check_untouched(&accident);
	assert_int_equal(access(accident.part, F_OK), -1);
	check_next(&accident, *state);
	unlink(accident.copy);
}

/* A byte goes wrong in the copy, in the blob that the query finds; the pages stay good. */
static void check_spoilt_blob(const char *path, const char *query)
{
	struct accident accident;
	struct store *store;

	set_up(&accident, path, false);
	store = fixture_open(path, STORE_WRITE);
	assert_int_equal(fixture_run_unclosed(store, "north"), 2);
	store_close(store);
	accident.original = path;
	accident.query = query;
	accident.calls = 0;
	accident.at = 1;
	assert_int_equal(back_up(&accident, path), STORE_CORRUPT);
	check_untouched(&accident);
	assert_int_equal(access(accident.part, F_OK), -1);
	check_next(&accident, path);
	unlink(accident.copy);
}

/* No seal covers a run that is still open; its readings are read back all the same. */
static void test_spoilt_in_an_open_run(void **state)
{
	check_spoilt_blob(*state, "SELECT readings FROM chunk WHERE run = 2 AND seq = 5");
}

static void test_spoilt_under_a_seal(void **state)
{
	check_spoilt_blob(*state, "SELECT readings FROM chunk WHERE run = 1 AND seq = 5");
}

/* In no hash, and of no seal but the newest is it checked. */
static void test_spoilt_signature(void **state)
{
	check_spoilt_blob(*state, "SELECT signature FROM seal WHERE seal = 2");
}

/* One that does not fit in the database itself would go over into the copy. */
static void test_newest_signature_does_not_fit(void **state)
{
	struct accident accident;

	set_up(&accident, *state, false);
	struct sqlite3 *db = forge_break_in(*state);
	forge_sql(db, "UPDATE seal SET signature = zeroblob(64)"
		      " WHERE seal = (SELECT max(seal) FROM seal)");
	forge_leave(db);
	assert_int_equal(back_up(&accident, *state), STORE_CORRUPT);
	check_untouched(&accident);
	unlink(accident.copy);
}

/* From the head of the file. */
static int page_size(const char *path)
{
	unsigned char bytes[2];
	int file = open(path, O_RDONLY | O_CLOEXEC);

	assert_true(file >= 0);
	assert_int_equal(pread(file, bytes, 2, 16), 2);
	close(file);
	return bytes[0] << 8 | bytes[1];
}

/* A database made by an older program has larger pages, and goes on with them. */
static void test_pages_stay_as_large(void **state)
{
	const char *const older = "PRAGMA page_size = 4096; CREATE TABLE t (x); DROP TABLE t";
	struct accident accident;

	set_up(&accident, *state, false);
	assert_int_equal(page_size(*state), 2048);
	assert_int_equal(page_size(accident.copy), 2048);
	unlink(accident.copy);
	unlink(*state);
	struct sqlite3 *db = fixture_connect(*state);
	forge_sql(db, older);
	assert_int_equal(sqlite3_close(db), SQLITE_OK);
	set_up(&accident, *state, false);
	assert_int_equal(page_size(*state), 4096);
	assert_int_equal(page_size(accident.copy), 4096);
	unlink(accident.copy);
}

int main(void)
{
	const struct CMUnitTest tests[] = {FIXTURE_TEST(test_stopped), FIXTURE_TEST(test_killed),
		FIXTURE_TEST(test_spoilt), FIXTURE_TEST(test_spoilt_in_an_open_run),
		FIXTURE_TEST(test_spoilt_under_a_seal), FIXTURE_TEST(test_spoilt_signature),
		FIXTURE_TEST(test_newest_signature_does_not_fit),
		FIXTURE_TEST(test_pages_stay_as_large)};

	return cmocka_run_group_tests_name("backup", tests, NULL, NULL);
}
