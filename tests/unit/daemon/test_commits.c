/* SPDX-License-Identifier: MIT
 *
 * How soon eight presses at 1 kHz are on the disk: how old the oldest reading is when its commit
 * begins and when it ends, how long a commit takes, what it writes. A wal hook is called when a
 * commit is synced; readings carry the time at which they were put.
 *
 * RAMPLOG_COMMITS_S says for how many seconds; the benchmark goes on for longer and only reports.
 */
#include "now.h"
#include "store/sql.h"
#include "unit/check.h"
#include "writer.h"

#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { PRESSES = 8, SECONDS = 2, SECONDS_MAX = 600, COMMITS_MAX = 200 * SECONDS_MAX };

/* What a machine busy with other tests may add to a batch's time. */
static const int64_t SLACK_NS = 250 * CLOCKS_NS_PER_MS;

struct commit {
	int64_t begun_ns, synced_ns, done_ns; /* done: with the checkpoint, if there was one */
	int64_t last_chunk;
	bool checkpoint;
};

struct rig {
	char folder[64], database[96];
	uv_loop_t loop;
	struct writer *writer;
	sqlite3 *db; /* the writer's thread's */
	int64_t last_chunk;
	struct commit commits[COMMITS_MAX];
	size_t commit_count;
	size_t opened, closed;
	struct mono_time stored[PRESSES]; /* as told */
};

static struct rig rig;

static void on_done(void *context, struct writer_note *note)
{
	(void)context;
	assert_int_equal(note->status, STORE_OK);
	rig.opened += note->kind == WRITER_RUN_OPEN;
	rig.closed += note->kind == WRITER_RUN_CLOSE;
}

static void on_durable(void *context, bool durable, const char *why)
{
	(void)context;
	(void)durable;
	fail_msg("%s", why);
}

static void on_stored(void *context, size_t press, struct mono_time reading)
{
	(void)context;
	assert_true(press < PRESSES && reading.ns > rig.stored[press].ns);
	rig.stored[press] = reading;
}

/* ---- on the writer's thread */

static void on_row(
	void *context, int what, const char *database, const char *table, sqlite3_int64 row)
{
	(void)context, (void)what, (void)database;
	if (strcmp(table, "chunk") == 0)
		rig.last_chunk = row;
}

static int on_commit(void *context)
{
	(void)context;
	assert_true(rig.commit_count < COMMITS_MAX);
	rig.commits[rig.commit_count] = (struct commit){.begun_ns = now_mono().ns};
	return 0;
}

/* Stands where SQLite's own hook was, which makes a checkpoint from 1000 pages on. */
static int on_synced(void *context, sqlite3 *db, const char *name, int pages)
{
	struct commit *commit = &rig.commits[rig.commit_count++];

	(void)context;
	commit->synced_ns = now_mono().ns;
	commit->last_chunk = rig.last_chunk;
	commit->checkpoint = pages >= 1000;
	if (commit->checkpoint)
		sqlite3_wal_checkpoint_v2(db, name, SQLITE_CHECKPOINT_PASSIVE, NULL, NULL);
	commit->done_ns = now_mono().ns;
	return SQLITE_OK;
}

/* ---- the presses */

static void start(void)
{
	struct writer_hooks hooks = {&rig, on_done, on_durable, on_stored};
	struct actor actor = {.uid = 1};
	struct message why = {""};
	struct store *store = NULL;
	bool changed = false;

	memset(&rig, 0, sizeof rig);
	snprintf(rig.folder, sizeof rig.folder, "/tmp/ramplog-commits-XXXXXX");
	assert_non_null(mkdtemp(rig.folder));
	snprintf(rig.database, sizeof rig.database, "%s/test.db", rig.folder);
	assert_int_equal(uv_loop_init(&rig.loop), 0);
	if (store_open(&store, rig.database, STORE_WRITE, &why) != STORE_OK)
		fail_msg("%s", why.text);
	assert_int_equal(store_key_take(store, &actor, (struct utc_time){1}, &changed), STORE_OK);
	sqlite3_update_hook(store->db, on_row, NULL);
	sqlite3_commit_hook(store->db, on_commit, NULL);
	sqlite3_wal_hook(store->db, on_synced, NULL);
	rig.writer = writer_create(&rig.loop, rig.database, WRITER_RING_SIZE, &hooks);
	assert_non_null(rig.writer);
	writer_start(rig.writer, store);
}

static void put_open(size_t press)
{
	struct writer_note *note = writer_note_create(WRITER_RUN_OPEN);
	const struct method *method = method_find("astm-c39");
	struct run_start *begin = &note->start;

	note->press = press;
	note->now = now_utc();
	snprintf(begin->press, sizeof begin->press, "press-%zu", press);
	snprintf(begin->method, sizeof begin->method, "%s", method->name);
	begin->judged_by = method;
	assert_true(method_plan(method, NULL, &begin->plan, NULL));
	begin->plan.contact_un = 1000;
	begin->cell_count = 1;
	snprintf(begin->cells[0].name, STORE_NAME_SIZE, "cell");
	begin->cells[0].scale = (struct scale){.unit = UNIT_KILONEWTON, .factor = {1, 0}};
	begin->started = now_utc();
	begin->origin = now_mono();
	assert_true(writer_put(rig.writer, note));
}

static void put_close(size_t press)
{
	struct writer_note *note = writer_note_create(WRITER_RUN_CLOSE);

	note->press = press;
	note->close.outcome.judgement.end = END_NO_LOAD;
	outcome_derive(&note->close.outcome, method_find("astm-c39"), NULL);
	note->close.ended = now_utc();
	assert_true(writer_put(rig.writer, note));
}

/* So many readings a second from each press, as the cells' clocks would have it. */
static void feed(int seconds, size_t presses, int hz)
{
	int64_t from_ns = now_mono().ns;

	for (int64_t i = 0; i < (int64_t)seconds * hz; i++) {
		while (now_mono().ns < from_ns + i * CLOCKS_NS_PER_S / hz) {
			poll(NULL, 0, 1);
			uv_run(&rig.loop, UV_RUN_NOWAIT);
		}
		for (size_t press = 0; press < presses; press++) {
			struct reading reading = {.time = now_mono(),
				.value = {i * 7 + (int64_t)press, -2},
				.unit = UNIT_KILONEWTON};
			assert_true(writer_put_reading(rig.writer, press, 0, &reading));
		}
	}
}

static void finish(void)
{
	char command[128];

	writer_stop(rig.writer);
	uv_run(&rig.loop, UV_RUN_DEFAULT);
	assert_int_equal(uv_loop_close(&rig.loop), 0);
	writer_destroy(rig.writer);
	snprintf(command, sizeof command, "rm -r %s", rig.folder);
	assert_int_equal(system(command), 0);
}

/* What this process has written to files and pipes. */
static long long written(void)
{
	long long bytes = -1;
	char line[64];
	FILE *file = fopen("/proc/self/io", "re");

	while (file && fgets(line, sizeof line, file))
		sscanf(line, "wchar: %lld", &bytes);
	if (file)
		fclose(file);
	return bytes;
}

/* ---- what came of it */

static double waited_ms[COMMITS_MAX], stored_ms[COMMITS_MAX], took_ms[COMMITS_MAX],
	checked_ms[COMMITS_MAX];

static int by_size(const void *one, const void *other)
{
	double a = *(const double *)one, b = *(const double *)other;
	return (a > b) - (a < b);
}

static double put(const char *what, double *values, size_t count)
{
	qsort(values, count, sizeof *values, by_size);
	print_message("%-40s %6zu %8.1f %8.1f %8.1f ms\n", what, count, values[count / 2],
		values[count * 99 / 100], values[count - 1]);
	return values[count - 1];
}

/* The time of the oldest reading in each commit, from the stored chunks themselves. */
static size_t measure(double *longest_ms)
{
	const char *const oldest =
		"SELECT number, min(time_mono_ns) FROM reading JOIN chunk USING (run, seq)"
		" GROUP BY number ORDER BY number";
	size_t count = 0, checkpoints = 0, commit = 0;
	int64_t of_commit_ns = INT64_MAX;
	sqlite3_stmt *rows;
	sqlite3 *db;

	assert_int_equal(sqlite3_open_v2(rig.database, &db, SQLITE_OPEN_READONLY, NULL), SQLITE_OK);
	assert_int_equal(sqlite3_prepare_v2(db, oldest, -1, &rows, NULL), SQLITE_OK);
	for (bool row = true; row;) {
		row = sqlite3_step(rows) == SQLITE_ROW;
		int64_t number = row ? sqlite3_column_int64(rows, 0) : INT64_MAX;
		for (; commit < rig.commit_count && rig.commits[commit].last_chunk < number;
			commit++) {
			const struct commit *done = &rig.commits[commit];
			if (of_commit_ns == INT64_MAX)
				continue;
			waited_ms[count] = (double)(done->begun_ns - of_commit_ns) * 1e-6;
			stored_ms[count] = (double)(done->synced_ns - of_commit_ns) * 1e-6;
			took_ms[count++] = (double)(done->synced_ns - done->begun_ns) * 1e-6;
			if (done->checkpoint)
				checked_ms[checkpoints++] =
					(double)(done->done_ns - done->synced_ns) * 1e-6;
			of_commit_ns = INT64_MAX;
		}
		int64_t time_ns = row ? sqlite3_column_int64(rows, 1) : 0;
		of_commit_ns = row && time_ns < of_commit_ns ? time_ns : of_commit_ns;
	}
	sqlite3_finalize(rows);
	sqlite3_close(db);
	print_message("%-40s %6s %8s %8s %8s\n", "", "count", "p50", "p99", "worst");
	longest_ms[0] = put("oldest reading when its commit begins", waited_ms, count);
	put("oldest reading when it is on the disk", stored_ms, count);
	longest_ms[1] = put("a commit, synced", took_ms, count);
	if (checkpoints)
		put("a checkpoint after it", checked_ms, checkpoints);
	return count;
}

static void open_runs(size_t presses)
{
	start();
	for (size_t press = 0; press < presses; press++)
		put_open(press);
	while (rig.opened < presses)
		uv_run(&rig.loop, UV_RUN_ONCE);
}

static void close_runs(size_t presses)
{
	for (size_t press = 0; press < presses; press++)
		put_close(press);
	while (rig.closed < presses)
		uv_run(&rig.loop, UV_RUN_ONCE);
}

static int seconds(void)
{
	const char *asked = getenv("RAMPLOG_COMMITS_S");
	return asked ? (int)strtol(asked, NULL, 10) : SECONDS;
}

static void test_eight_presses(void **state)
{
	double longest_ms[2];

	(void)state;
	assert_in_range(seconds(), 1, SECONDS_MAX);
	open_runs(PRESSES);
	feed(seconds(), PRESSES, 1000);
	for (size_t press = 0; press < PRESSES; press++)
		assert_true(rig.stored[press].ns > now_mono().ns - CLOCKS_NS_PER_S);
	close_runs(PRESSES);
	size_t count = measure(longest_ms);
	finish();
	/* Four a second for all presses together, and those of the ends. */
	assert_in_range(count, (uintmax_t)seconds() * 2, (uintmax_t)seconds() * 6 + PRESSES);
	if (seconds() == SECONDS)
		assert_true(longest_ms[0] <
			    (double)(WRITER_BATCH_NS + SLACK_NS) * 1e-6 + longest_ms[1]);
	assert_true(waited_ms[count / 2] < (double)WRITER_BATCH_NS * 1.2e-6);
}

/* What is written to the disk for a reading: pages of the log, and again at the checkpoint. A busy
 * machine makes fewer commits, never more: the bounds hold everywhere. */
static void test_bytes_written(void **state)
{
	static const struct {
		size_t presses;
		int hz;
		double least, most;
	} cases[] = {{1, 1000, 10, 60}, {1, 100, 50, 300}, {1, 10, 300, 2000}};

	(void)state;
	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		open_runs(cases[i].presses);
		long long before = written();
		feed(seconds(), cases[i].presses, cases[i].hz);
		double each = (double)(written() - before) / (double)cases[i].presses /
			      (double)(seconds() * cases[i].hz);
		close_runs(cases[i].presses);
		finish();
		print_message("%zu x %4d Hz: %.0f bytes written a reading\n", cases[i].presses,
			cases[i].hz, each);
		assert_true(each > cases[i].least && each < cases[i].most);
	}
}

/* The end of a run does not wait for the batch: nor what was put before it. The best of some tries,
 * since the machine may be busy. */
static void test_an_end_does_not_wait(void **state)
{
	int64_t best_ns = INT64_MAX;

	(void)state;
	start();
	for (size_t i = 0; i < 5; i++) {
		struct reading reading = {.value = {12, -2}, .unit = UNIT_KILONEWTON};
		size_t before = rig.commit_count;
		put_open(0);
		while (rig.opened <= i)
			uv_run(&rig.loop, UV_RUN_ONCE);
		assert_true(rig.commit_count > before);
		reading.time = now_mono();
		assert_true(writer_put_reading(rig.writer, 0, 0, &reading));
		put_close(0);
		while (rig.closed <= i)
			uv_run(&rig.loop, UV_RUN_ONCE);
		assert_true(rig.stored[0].ns == reading.time.ns);
		int64_t took_ns = now_mono().ns - reading.time.ns;
		best_ns = took_ns < best_ns ? took_ns : best_ns;
	}
	finish();
	print_message("an end is on the disk after %.1f ms\n", (double)best_ns * 1e-6);
	assert_true(best_ns < WRITER_BATCH_NS / 2);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_eight_presses),
		cmocka_unit_test(test_bytes_written),
		cmocka_unit_test(test_an_end_does_not_wait),
	};

	return cmocka_run_group_tests_name("commits", tests, NULL, NULL);
}
