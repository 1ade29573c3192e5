/* SPDX-License-Identifier: MIT
 *
 * The writer against a real database: order, what waits and what does not, a disk that refuses and
 * comes back, and rules of the database that refuse one thing only. Also built with the thread
 * sanitizer.
 */
#include "now.h"
#include "store/sql.h"
#include "unit/check.h"
#include "writer.h"

#include <signal.h>
#include <sqlite3.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

enum { RING_SIZE = 4096, DONE_MAX = 16, PRESSES = 8 };

struct done {
	enum writer_kind kind;
	enum store_status status;
	int64_t run;
	char why[MESSAGE_SIZE];
};

struct rig {
	char folder[64];
	char database[96];
	uv_loop_t loop;
	struct writer *writer;
	struct done done[DONE_MAX];
	size_t done_count;
	bool durable;
	size_t durable_changes;
	char refusal[MESSAGE_SIZE];
	struct utc_time refused_at; /* a run */
	atomic_int commits;
	int64_t time_ns;
	int64_t stored_ns; /* the newest reading of any press that is said to be stored */
};

/* What the writer is told of its log and its disk, linked in the place of the store's functions;
 * negative: the truth. */
static _Atomic int64_t log_size = -1, disk_free = -1;

int64_t __real_store_log_size(const struct store *store);
int64_t __wrap_store_log_size(const struct store *store);
int64_t __real_store_disk_free(const struct store *store);
int64_t __wrap_store_disk_free(const struct store *store);

int64_t __wrap_store_log_size(const struct store *store)
{
	int64_t size = log_size;

	return size < 0 ? __real_store_log_size(store) : size;
}

int64_t __wrap_store_disk_free(const struct store *store)
{
	int64_t bytes = disk_free;

	return bytes < 0 ? __real_store_disk_free(store) : bytes;
}

static void on_done(void *context, struct writer_note *note)
{
	struct rig *rig = context;
	struct done *done = &rig->done[rig->done_count++];

	assert_true(rig->done_count <= DONE_MAX);
	*done = (struct done){.kind = note->kind, .status = note->status, .run = note->run};
	snprintf(done->why, sizeof done->why, "%s", note->why.text);
	if (note->status != STORE_OK)
		rig->refused_at = note->now;
}

static void on_durable(void *context, bool durable, const char *why)
{
	struct rig *rig = context;

	assert_true(durable || why[0]);
	rig->durable = durable;
	rig->durable_changes++;
	if (!durable)
		snprintf(rig->refusal, sizeof rig->refusal, "%s", why);
}

static void on_stored(void *context, size_t press, struct mono_time reading)
{
	struct rig *rig = context;

	assert_true(press < PRESSES && reading.ns <= rig->time_ns);
	rig->stored_ns = reading.ns;
}

/* On the writer's thread. */
static int count_commit(void *context)
{
	struct rig *rig = context;

	atomic_fetch_add(&rig->commits, 1);
	return 0;
}

static void rig_init(struct rig *rig)
{
	struct writer_hooks hooks = {rig, on_done, on_durable, on_stored};
	struct store *store = NULL;
	struct message why = {""};

	*rig = (struct rig){.folder = "/tmp/ramplog-writer-XXXXXX", .durable = true};
	assert_non_null(mkdtemp(rig->folder));
	snprintf(rig->database, sizeof rig->database, "%s/test.db", rig->folder);
	assert_int_equal(uv_loop_init(&rig->loop), 0);
	if (store_open(&store, rig->database, STORE_WRITE, &why) != STORE_OK)
		fail_msg("%s", why.text);
	struct actor actor = {.uid = 1};
	bool changed = false;
	assert_int_equal(store_key_take(store, &actor, (struct utc_time){1}, &changed), STORE_OK);
	sqlite3_commit_hook(store->db, count_commit, rig);
	rig->writer = writer_create(&rig->loop, rig->database, RING_SIZE, &hooks);
	assert_non_null(rig->writer);
	writer_start(rig->writer, store);
}

static void rig_stop(struct rig *rig)
{
	writer_stop(rig->writer);
	uv_run(&rig->loop, UV_RUN_DEFAULT);
	assert_int_equal(uv_loop_close(&rig->loop), 0);
	writer_destroy(rig->writer);
}

static void rig_finish(struct rig *rig)
{
	static const char *const SUFFIXES[] = {"", "-wal", "-shm", "-lock", ".key"};
	char path[128];

	for (size_t i = 0; i < sizeof SUFFIXES / sizeof SUFFIXES[0]; i++) {
		snprintf(path, sizeof path, "%s%s", rig->database, SUFFIXES[i]);
		unlink(path);
	}
	assert_int_equal(rmdir(rig->folder), 0);
}

static void wait_done(struct rig *rig, size_t count)
{
	while (rig->done_count < count)
		uv_run(&rig->loop, UV_RUN_ONCE);
}

static void put_note(struct rig *rig, struct writer_note *note)
{
	assert_non_null(note);
	note->now = now_utc();
	assert_true(writer_put(rig->writer, note));
}

static void put_open(struct rig *rig, size_t press)
{
	struct writer_note *note = writer_note_create(WRITER_RUN_OPEN);
	const struct method *method = method_find("astm-c39");
	struct run_start *start = &note->start;

	note->press = press;
	snprintf(start->press, sizeof start->press, "press-%zu", press);
	snprintf(start->method, sizeof start->method, "%s", method->name);
	start->judged_by = method;
	assert_true(method_plan(method, NULL, &start->plan, NULL));
	start->plan.contact_un = 1000;
	start->capacity_un = INT64_C(2000000) * UNITS_UN_PER_N;
	start->cell_count = 2;
	for (size_t i = 0; i < 2; i++) {
		snprintf(start->cells[i].name, STORE_NAME_SIZE, "cell-%zu", i);
		snprintf(start->cells[i].device, STORE_PATH_SIZE, "/dev/null");
		snprintf(start->cells[i].decoder, STORE_NAME_SIZE, "plain");
		start->cells[i].scale = (struct scale){.unit = UNIT_KILONEWTON, .factor = {1, 0}};
	}
	start->started = now_utc();
	start->origin.ns = rig->time_ns;
	put_note(rig, note);
}

static void put_close(struct rig *rig, size_t press)
{
	struct writer_note *note = writer_note_create(WRITER_RUN_CLOSE);

	note->press = press;
	note->close.outcome.judgement.end = END_NO_LOAD;
	outcome_derive(&note->close.outcome, method_find("astm-c39"), NULL);
	note->close.ended = now_utc();
	put_note(rig, note);
}

static bool put_reading(struct rig *rig, size_t press, size_t cell)
{
	struct reading reading = {.time = {rig->time_ns += 1000000},
		.value = {(rig->time_ns / 1000000) % 1000, -2},
		.unit = UNIT_KILONEWTON};

	return writer_put_reading(rig->writer, press, cell, &reading);
}

struct stored {
	size_t counts[2];
	int64_t last_ns[2];
};

static bool take_stored(void *context, size_t cell, const struct reading *reading)
{
	struct stored *stored = context;

	assert_true(cell < 2);
	assert_true(reading->time.ns > stored->last_ns[cell]);
	stored->last_ns[cell] = reading->time.ns;
	stored->counts[cell]++;
	return true;
}

static void check_stored(const struct rig *rig, int64_t run, size_t first, size_t second)
{
	struct stored stored = {.last_ns = {-1, -1}};
	struct store *store = NULL;

	assert_int_equal(store_open(&store, rig->database, STORE_READ, NULL), STORE_OK);
	assert_int_equal(store_readings_each(store, run, take_stored, &stored), STORE_OK);
	assert_int_equal(stored.counts[0], first);
	assert_int_equal(stored.counts[1], second);
	store_close(store);
}

static void test_runs_of_two_presses(void **state)
{
	struct rig rig;

	(void)state;
	rig_init(&rig);
	put_open(&rig, 0);
	put_open(&rig, 1);
	for (int i = 0; i < 3000; i++) {
		assert_true(put_reading(&rig, (size_t)(i % 2), (size_t)(i % 3 == 0)));
		if (i % 500 == 0)
			uv_run(&rig.loop, UV_RUN_NOWAIT);
	}
	put_close(&rig, 1);
	put_close(&rig, 0);
	wait_done(&rig, 4);
	for (size_t i = 0; i < 4; i++)
		assert_int_equal(rig.done[i].status, STORE_OK);
	assert_int_equal(rig.done[0].run, 1);
	assert_int_equal(rig.done[1].run, 2);
	assert_int_equal(rig.done[2].run, 2);
	assert_int_equal(rig.done[3].run, 1);
	check_stored(&rig, 1, 1000, 500);
	check_stored(&rig, 2, 1000, 500);
	rig_stop(&rig);
	rig_finish(&rig);
}

/* What eight presses send goes to the disk together: a commit is a sync, and costs as much as that.
 */
static void test_presses_share_a_commit(void **state)
{
	struct rig rig;

	(void)state;
	rig_init(&rig);
	for (size_t press = 0; press < PRESSES; press++)
		put_open(&rig, press);
	wait_done(&rig, PRESSES);
	int before = atomic_load(&rig.commits);
	for (size_t i = 0; i < 100; i++) {
		for (size_t press = 0; press < PRESSES; press++)
			assert_true(put_reading(&rig, press, i % 2));
	}
	rig_stop(&rig);
	/* One; two if the machine held this thread up for as long as a batch waits. */
	assert_in_range(atomic_load(&rig.commits) - before, 1, 2);
	for (size_t press = 0; press < PRESSES; press++)
		check_stored(&rig, (int64_t)press + 1, 50, 50);
	rig_finish(&rig);
}

/* Readings alone are committed without anybody asking, soon enough. */
static void test_readings_do_not_wait_long(void **state)
{
	struct rig rig;
	struct stored stored = {.last_ns = {-1, -1}};
	struct store *store = NULL;

	(void)state;
	rig_init(&rig);
	put_open(&rig, 0);
	wait_done(&rig, 1);
	assert_true(put_reading(&rig, 0, 0));
	int64_t put_ns = now_mono().ns;
	assert_int_equal(store_open(&store, rig.database, STORE_READ, NULL), STORE_OK);
	while (!stored.counts[0])
		assert_int_equal(store_readings_each(store, 1, take_stored, &stored), STORE_OK);
	int64_t took_ns = now_mono().ns - put_ns;
	/* The promise is 250 ms; the rest is for a busy machine. */
	assert_in_range(took_ns, WRITER_BATCH_NS / 2, WRITER_BATCH_NS + CLOCKS_NS_PER_S);
	store_close(store);
	rig_stop(&rig);
	check_stored(&rig, 1, 1, 0);
	rig_finish(&rig);
}

/* Asked to, it does not wait. The best of some tries, since the machine may be busy. */
static void test_flush(void **state)
{
	struct rig rig;
	struct store *store = NULL;
	int64_t best_ns = INT64_MAX;

	(void)state;
	rig_init(&rig);
	put_open(&rig, 0);
	wait_done(&rig, 1);
	assert_int_equal(store_open(&store, rig.database, STORE_READ, NULL), STORE_OK);
	for (size_t count = 1; count <= 5; count++) {
		struct stored stored = {.last_ns = {-1, -1}};

		assert_true(put_reading(&rig, 0, 0));
		int64_t put_ns = now_mono().ns;
		writer_flush(rig.writer);
		while (stored.counts[0] < count) {
			stored = (struct stored){.last_ns = {-1, -1}};
			assert_int_equal(
				store_readings_each(store, 1, take_stored, &stored), STORE_OK);
		}
		int64_t took_ns = now_mono().ns - put_ns;
		if (took_ns < best_ns)
			best_ns = took_ns;
	}
	assert_true(best_ns < WRITER_BATCH_NS / 2);
	store_close(store);
	rig_stop(&rig);
	rig_finish(&rig);
}

static void put_register(struct rig *rig, const char *id)
{
	struct writer_note *note = writer_note_create(WRITER_REGISTER);

	note->specimen = (struct specimen){.shape = SHAPE_CYLINDER,
		.width_um = {100000, 100000},
		.length_um = 200000,
		.method = "astm-c39"};
	snprintf(note->specimen.id, sizeof note->specimen.id, "%s", id);
	put_note(rig, note);
}

static void put_seat(struct rig *rig, const char *id)
{
	struct writer_note *note = writer_note_create(WRITER_SEAT);

	snprintf(note->press_name, sizeof note->press_name, "press-0");
	snprintf(note->specimen.id, sizeof note->specimen.id, "%s", id);
	put_note(rig, note);
}

static void put_fracture(struct rig *rig, int64_t run)
{
	struct writer_note *note = writer_note_create(WRITER_FRACTURE);

	note->run = run;
	note->fracture = 3;
	put_note(rig, note);
}

/* What the rules refuse is refused to its asker, and nothing around it suffers. */
static void test_refusals(void **state)
{
	struct rig rig;

	(void)state;
	rig_init(&rig);
	put_open(&rig, 0);
	for (int i = 0; i < 10; i++)
		put_reading(&rig, 0, 0);
	put_register(&rig, "S-1");
	put_register(&rig, "S-1");
	put_seat(&rig, "S-2");
	put_seat(&rig, "S-1");
	put_fracture(&rig, 7);
	put_close(&rig, 1);
	for (int i = 0; i < 10; i++)
		put_reading(&rig, 0, 0);
	put_close(&rig, 0);
	wait_done(&rig, 8);
	static const enum store_status EXPECTED[] = {STORE_OK, STORE_OK, STORE_REFUSED, STORE_NONE,
		STORE_OK, STORE_NONE, STORE_NONE, STORE_OK};
	for (size_t i = 0; i < 8; i++) {
		assert_int_equal(rig.done[i].status, EXPECTED[i]);
		assert_int_equal(rig.done[i].why[0] != '\0', EXPECTED[i] != STORE_OK);
	}
	assert_non_null(strstr(rig.done[3].why, "S-2"));
	assert_non_null(strstr(rig.done[5].why, "7"));
	assert_int_equal(rig.durable_changes, 0);
	rig_stop(&rig);
	check_stored(&rig, 1, 20, 0);
	rig_finish(&rig);
}

/* A limit on the size of files is a full disk that a test may make. */
static void limit_files(rlim_t bytes)
{
	struct rlimit limit;

	signal(SIGXFSZ, SIG_IGN);
	getrlimit(RLIMIT_FSIZE, &limit);
	limit.rlim_cur = bytes;
	assert_int_equal(setrlimit(RLIMIT_FSIZE, &limit), 0);
}

static void wait_durable(struct rig *rig, bool durable)
{
	while (rig->durable != durable)
		uv_run(&rig->loop, UV_RUN_ONCE);
}

static void test_outage(void **state)
{
	struct rig rig;

	(void)state;
	rig_init(&rig);
	put_open(&rig, 0);
	for (int i = 0; i < 100; i++)
		put_reading(&rig, 0, 0);
	wait_done(&rig, 1);
	limit_files(4096);
	int64_t before_ns = rig.time_ns;
	put_open(&rig, 1);
	for (int i = 0; i < 100; i++) {
		put_reading(&rig, 0, 0);
		put_reading(&rig, 1, 1);
	}
	put_close(&rig, 0);
	wait_durable(&rig, false);
	for (int i = 0; i < 100; i++)
		put_reading(&rig, 1, 0);
	assert_int_equal(rig.done_count, 1);
	/* What is in memory alone is not said to be stored. */
	assert_true(rig.stored_ns <= before_ns);
	limit_files(RLIM_INFINITY);
	put_close(&rig, 1);
	wait_done(&rig, 4);
	wait_durable(&rig, true);
	for (size_t i = 0; i < 4; i++)
		assert_int_equal(rig.done[i].status, STORE_OK);
	assert_int_equal(rig.durable_changes, 2);
	rig_stop(&rig);
	assert_int_equal(rig.stored_ns, rig.time_ns);
	check_stored(&rig, 1, 200, 0);
	check_stored(&rig, 2, 100, 100);
	rig_finish(&rig);
}

/* What was lost is on record, once, with when and how much. */
static void check_loss(struct rig *rig, const char *press, int64_t from_ns, int64_t to_ns,
	int64_t reading_count, int64_t loading_count)
{
	sqlite3 *db;
	sqlite3_stmt *rows;

	assert_int_equal(sqlite3_open(rig->database, &db), SQLITE_OK);
	assert_int_equal(
		sqlite3_prepare_v2(db,
			"SELECT press, from_utc_ns, to_utc_ns, reading_count, loading_count"
			" FROM loss",
			-1, &rows, NULL),
		SQLITE_OK);
	assert_int_equal(sqlite3_step(rows), SQLITE_ROW);
	assert_string_equal((const char *)sqlite3_column_text(rows, 0), press);
	assert_int_equal(sqlite3_column_int64(rows, 1), from_ns);
	assert_int_equal(sqlite3_column_int64(rows, 2), to_ns);
	assert_int_equal(sqlite3_column_int64(rows, 3), reading_count);
	assert_int_equal(sqlite3_column_int64(rows, 4), loading_count);
	assert_int_equal(sqlite3_step(rows), SQLITE_DONE);
	sqlite3_finalize(rows);
	assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

/* What was lost goes on record also where nothing else is to be written. */
static void test_loss_alone(void **state)
{
	struct rig rig;

	(void)state;
	rig_init(&rig);
	writer_lose(rig.writer, 0, "north", 0, 1, (struct utc_time){77});
	rig_stop(&rig);
	check_loss(&rig, "north", 77, 77, 0, 1);
	rig_finish(&rig);
}

static void refuse_runs(const struct rig *rig)
{
	sqlite3 *db;

	assert_int_equal(sqlite3_open(rig->database, &db), SQLITE_OK);
	assert_int_equal(
		sqlite3_exec(db,
			"CREATE TRIGGER refuses BEFORE INSERT ON run WHEN NEW.press = 'press-1'"
			" BEGIN SELECT RAISE(ABORT, 'not here'); END",
			NULL, NULL, NULL),
		SQLITE_OK);
	assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

/* A run that the rules refuse takes its readings with it: nobody is told that they are stored, and
 * the loss is on record. */
static void test_refused_run(void **state)
{
	struct rig rig;

	(void)state;
	rig_init(&rig);
	refuse_runs(&rig);
	put_open(&rig, 0);
	wait_done(&rig, 1);
	put_reading(&rig, 0, 0);
	int64_t newest_ns = rig.time_ns;
	put_open(&rig, 1);
	for (int i = 0; i < 10; i++)
		put_reading(&rig, 1, 0);
	wait_done(&rig, 2);
	assert_int_equal(rig.done[0].status, STORE_OK);
	assert_int_equal(rig.done[1].status, STORE_REFUSED);
	assert_non_null(strstr(rig.done[1].why, "not here"));
	rig_stop(&rig);
	assert_int_equal(rig.stored_ns, newest_ns);
	check_stored(&rig, 1, 1, 0);
	check_loss(&rig, "press-1", rig.refused_at.ns, rig.refused_at.ns, 0, 1);
	rig_finish(&rig);
}

/* The ring fills: readings are refused, the end of the run still finds a place. */
static void test_full_ring(void **state)
{
	struct rig rig;
	size_t kept = 0;

	(void)state;
	rig_init(&rig);
	put_open(&rig, 0);
	wait_done(&rig, 1);
	limit_files(4096);
	put_reading(&rig, 0, 0);
	writer_flush(rig.writer);
	wait_durable(&rig, false);
	assert_true(writer_has_room(rig.writer));
	for (kept = 1; put_reading(&rig, 0, 0); kept++)
		assert_true(kept < RING_SIZE);
	assert_false(writer_has_room(rig.writer));
	writer_lose(rig.writer, 0, "north", 1, 0, (struct utc_time){77});
	writer_lose(rig.writer, 0, "north", 0, 1, (struct utc_time){99});
	put_close(&rig, 0);
	limit_files(RLIM_INFINITY);
	wait_done(&rig, 2);
	assert_int_equal(rig.done[1].status, STORE_OK);
	rig_stop(&rig);
	check_stored(&rig, 1, kept, 0);
	check_loss(&rig, "north", 77, 99, 1, 1);
	rig_finish(&rig);
}

/* One reading while the log and the disk are so: kept in memory until they are not. */
static void refuse_until_room(struct rig *rig, int64_t size, int64_t room)
{
	disk_free = room - 1;
	log_size = size;
	put_reading(rig, 0, 0);
	writer_flush(rig->writer);
	wait_durable(rig, false);
	assert_non_null(strstr(rig->refusal, "is kept to write it back"));
	assert_true(rig->stored_ns < rig->time_ns);
	disk_free = room;
	wait_durable(rig, true);
	assert_int_equal(rig->stored_ns, rig->time_ns);
}

/* The log stops at five eighths of the disk: three fifths of its size are left to write it back,
 * and as much as a large log at the least. A log below that may have the last byte. */
static void test_log_leaves_room(void **state)
{
	const int64_t mb = INT64_C(1) << 20;
	struct rig rig;

	(void)state;
	rig_init(&rig);
	put_open(&rig, 0);
	wait_done(&rig, 1);
	disk_free = 0;
	log_size = 64 * mb - 1;
	put_reading(&rig, 0, 0);
	put_open(&rig, 1);
	wait_done(&rig, 2);
	assert_int_equal(rig.durable_changes, 0);
	refuse_until_room(&rig, 300 * mb, 180 * mb);
	refuse_until_room(&rig, 64 * mb, 64 * mb);
	log_size = disk_free = -1;
	put_close(&rig, 0);
	wait_done(&rig, 3);
	assert_int_equal(rig.durable_changes, 4);
	rig_stop(&rig);
	check_stored(&rig, 1, 3, 0);
	rig_finish(&rig);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_runs_of_two_presses),
		cmocka_unit_test(test_presses_share_a_commit),
		cmocka_unit_test(test_readings_do_not_wait_long),
		cmocka_unit_test(test_flush),
		cmocka_unit_test(test_refusals),
		cmocka_unit_test(test_outage),
		cmocka_unit_test(test_loss_alone),
		cmocka_unit_test(test_refused_run),
		cmocka_unit_test(test_full_ring),
		cmocka_unit_test(test_log_leaves_room),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
