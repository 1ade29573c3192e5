/* SPDX-License-Identifier: MIT
 *
 * What store_open makes of files that are not what it hopes for: each a status and a sentence that
 * names the file. Permissions mean nothing to root, so a child gives its rights up first.
 */
#include "unit/check.h"
#include "unit/store/fixture.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

static void refuse(
	const char *path, enum store_mode mode, enum store_status expected, const char *words)
{
	struct store *store = (struct store *)&store;
	struct message why = {""};

	assert_int_equal(store_open(&store, path, mode, &why), expected);
	assert_null(store);
	if (!strstr(why.text, path) || !strstr(why.text, words))
		fail_msg("\"%s\" lacks \"%s\" or the path", why.text, words);
}

static void write_file(const char *path, const char *text)
{
	FILE *file = fopen(path, "w");

	assert_non_null(file);
	fputs(text, file);
	assert_int_equal(fclose(file), 0);
}

/* Runs statements on the file as any program could. */
static void tamper(const char *path, const char *statements)
{
	sqlite3 *db;
	char *error = NULL;

	assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
	if (sqlite3_exec(db, statements, NULL, NULL, &error) != SQLITE_OK)
		fail_msg("%s: %s", statements, error);
	assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

static void test_missing_file(void **state)
{
	refuse(*state, STORE_READ, STORE_NOT_FOUND, "check the path");
	refuse("/nowhere/at/all.db", STORE_WRITE, STORE_IO, "check the folder");
}

static void test_made_and_found_again(void **state)
{
	store_close(fixture_open(*state, STORE_WRITE));
	store_close(fixture_open(*state, STORE_WRITE));
	store_close(fixture_open(*state, STORE_READ));
}

static void test_an_empty_file_is_made_a_database(void **state)
{
	write_file(*state, "");
	refuse(*state, STORE_READ, STORE_NOT_OURS, "empty");
	store_close(fixture_open(*state, STORE_WRITE));
	store_close(fixture_open(*state, STORE_READ));
}

static void test_text_is_no_database(void **state)
{
	const char *text = "time_s,load_n\n0,0\n1,2000\nand so on, for long enough to be a header "
			   "of a hundred bytes, which SQLite looks at\n";

	write_file(*state, text);
	refuse(*state, STORE_READ, STORE_NOT_OURS, "no database");
	refuse(*state, STORE_WRITE, STORE_NOT_OURS, "no database");
	struct stat file;
	assert_int_equal(stat(*state, &file), 0);
	assert_int_equal(file.st_size, strlen(text));
}

static void test_somebody_elses_database_is_left_alone(void **state)
{
	tamper(*state, "CREATE TABLE t (x); PRAGMA user_version = 1");
	refuse(*state, STORE_READ, STORE_NOT_OURS, "not one of ramplog");
	refuse(*state, STORE_WRITE, STORE_NOT_OURS, "not one of ramplog");
	/* Not even its journal mode was changed. */
	tamper(*state, "CREATE TABLE u AS SELECT journal_mode FROM pragma_journal_mode;"
		       "CREATE TABLE v (x CHECK (x = 'delete')); INSERT INTO v SELECT * FROM u");
}

static void test_a_newer_version_is_refused(void **state)
{
	store_close(fixture_open(*state, STORE_WRITE));
	tamper(*state, "PRAGMA user_version = 99");
	refuse(*state, STORE_READ, STORE_NEWER, "99");
	refuse(*state, STORE_WRITE, STORE_NEWER, "newer program");
}

static void test_a_folder_is_no_file(void **state)
{
	assert_int_equal(mkdir(*state, 0755), 0);
	refuse(*state, STORE_READ, STORE_IO, "not a file");
	refuse(*state, STORE_WRITE, STORE_IO, "not a file");
}

static void test_a_second_writer_is_refused(void **state)
{
	struct store *first = fixture_open(*state, STORE_WRITE);

	refuse(*state, STORE_WRITE, STORE_BUSY, "only one");
	store_close(fixture_open(*state, STORE_READ));
	store_let_go(first);
	store_close(fixture_open(*state, STORE_WRITE));
	store_close(first);
	store_close(fixture_open(*state, STORE_WRITE));
}

static void test_a_file_moved_away_is_noticed(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	struct message why;
	char elsewhere[300];

	snprintf(elsewhere, sizeof(elsewhere), "%s.old", (const char *)*state);
	assert_int_equal(rename(*state, elsewhere), 0);
	assert_int_equal(store_begin(store), STORE_IO);
	assert_non_null(strstr(store_error(store), "moved"));
	write_file(*state, "something else in its place");
	assert_int_equal(store_begin(store), STORE_IO);
	assert_int_equal(unlink(*state), 0);
	assert_int_equal(store_reopen(store, &why), STORE_IO);
	assert_non_null(strstr(why.text, "not there"));
	assert_int_equal(access(*state, F_OK), -1);
	assert_int_equal(rename(elsewhere, *state), 0);
	assert_int_equal(store_reopen(store, &why), STORE_OK);
	fixture_begin(store);
	store_rollback(store);
	store_close(store);
}

/* Runs body in a child without root's rights, the folder not writable for it. The child starts
 * before the parent opens anything: a connection must not be carried through a fork. */
static void as_somebody_else(char *path, bool beside_writer, void (*body)(const char *path))
{
	struct store *store = NULL;
	char folder[300], go = 0;
	int pipes[2], status;

	snprintf(folder, sizeof(folder), "%.*s", (int)(strrchr(path, '/') - path), path);
	assert_int_equal(pipe(pipes), 0);
	pid_t child = fork();
	assert_true(child >= 0);
	if (child == 0) {
		if (getuid() == 0 && (setgid(65534) != 0 || setuid(65534) != 0))
			_exit(3);
		if (read(pipes[0], &go, 1) != 1)
			_exit(4);
		body(path);
		_exit(0);
	}
	if (beside_writer)
		store = fixture_open(path, STORE_WRITE);
	assert_int_equal(chmod(folder, 0555), 0);
	assert_int_equal(write(pipes[1], &go, 1), 1);
	assert_int_equal(waitpid(child, &status, 0), child);
	assert_int_equal(chmod(folder, 0755), 0);
	close(pipes[0]);
	close(pipes[1]);
	store_close(store);
	assert_true(WIFEXITED(status));
	assert_int_equal(WEXITSTATUS(status), 0);
}

static void count_run(const char *path)
{
	struct run_filter filter = {.limit = 1};
	struct message why;
	struct store *store;

	if (store_open(&store, path, STORE_READ, &why) != STORE_OK) {
		fprintf(stderr, "%s\n", why.text);
		_exit(1);
	}
	if (store_runs_each(store, &filter, NULL, NULL) != STORE_OK)
		_exit(2);
	store_close(store);
}

/* A closed database has no files beside it, and SQLite wants to make them even to read. */
static void test_read_in_a_folder_that_may_not_be_written(void **state)
{
	store_close(fixture_open(*state, STORE_WRITE));
	as_somebody_else(*state, false, count_run);
}

static void test_read_beside_a_writer_from_such_a_folder(void **state)
{
	as_somebody_else(*state, true, count_run);
}

static void refuse_writing(const char *path)
{
	struct message why;
	struct store *store;

	if (store_open(&store, path, STORE_WRITE, &why) != STORE_IO ||
		!strstr(why.text, "check the folder and its permissions"))
		_exit(1);
}

static void test_write_in_a_folder_that_may_not_be_written(void **state)
{
	as_somebody_else(*state, false, refuse_writing);
}

/* No file may grow: what a full disk looks like to whoever is not allowed to fill one. */
static void test_a_full_disk(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	struct rlimit old, tight = {16384, 16384};
	struct specimen specimen, found;
	enum store_status status = STORE_OK;
	char id[24];

	assert_int_equal(getrlimit(RLIMIT_FSIZE, &old), 0);
	tight.rlim_max = old.rlim_max;
	signal(SIGXFSZ, SIG_IGN);
	assert_int_equal(setrlimit(RLIMIT_FSIZE, &tight), 0);
	int number = 0;
	while (status == STORE_OK && number < 2000) {
		snprintf(id, sizeof(id), "full-%d", ++number);
		fixture_specimen(&specimen, id);
		status = store_begin(store);
		if (status == STORE_OK)
			status = store_specimen_add(
				store, &specimen, &fixture_actor, (struct utc_time){1});
		if (status == STORE_OK)
			status = store_commit(store);
		if (status != STORE_OK)
			store_rollback(store);
	}
	assert_int_equal(setrlimit(RLIMIT_FSIZE, &old), 0);
	assert_true(status == STORE_IO || status == STORE_FULL);
	assert_non_null(strstr(store_error(store), *state));
	store_close(store);

	/* What was committed is there, and there is room again. */
	store = fixture_open(*state, STORE_WRITE);
	for (int i = 1; i < number; i++) {
		snprintf(id, sizeof(id), "full-%d", i);
		assert_int_equal(store_specimen_find(store, id, &found), STORE_OK);
	}
	fixture_specimen(&specimen, "room-again");
	fixture_begin(store);
	assert_int_equal(store_specimen_add(store, &specimen, &fixture_actor, (struct utc_time){1}),
		STORE_OK);
	fixture_commit(store);
	store_close(store);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		FIXTURE_TEST(test_missing_file),
		FIXTURE_TEST(test_made_and_found_again),
		FIXTURE_TEST(test_an_empty_file_is_made_a_database),
		FIXTURE_TEST(test_text_is_no_database),
		FIXTURE_TEST(test_somebody_elses_database_is_left_alone),
		FIXTURE_TEST(test_a_newer_version_is_refused),
		FIXTURE_TEST(test_a_folder_is_no_file),
		FIXTURE_TEST(test_a_second_writer_is_refused),
		FIXTURE_TEST(test_a_file_moved_away_is_noticed),
		FIXTURE_TEST(test_read_in_a_folder_that_may_not_be_written),
		FIXTURE_TEST(test_read_beside_a_writer_from_such_a_folder),
		FIXTURE_TEST(test_write_in_a_folder_that_may_not_be_written),
		FIXTURE_TEST(test_a_full_disk),
	};

	return cmocka_run_group_tests_name("open", tests, NULL, NULL);
}
