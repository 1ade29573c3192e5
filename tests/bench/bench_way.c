/* SPDX-License-Identifier: MIT
 *
 * The way of a reading from bytes to a committed row, without the operating system's part: decode,
 * scale, sum, judge, store, a commit for each quarter of a second at 1 kHz. Beside it the least
 * that anybody would write: split lines, strtod, one row of an ordinary table each, the same
 * commits.
 */
#include "stopwatch.h"

#include "base/units.h"
#include "judge/judge.h"
#include "measure/stream.h"
#include "measure/sum.h"
#include "result/method.h"
#include "store/store.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const struct decoder_setup standard;

enum { LINES = 60000, BATCH = 250, LINE_SIZE = 16, STEP_NS = 1000000 };

static char wire[LINES][LINE_SIZE + 1];

static void must(bool done, const char *what)
{
	if (done)
		return;
	fprintf(stderr, "bench: %s\n", what);
	exit(1);
}

static void make_wire(void)
{
	for (int i = 0; i < LINES; i++)
		snprintf(wire[i], sizeof wire[i], "%10.4f kN\r\n", 1 + 0.002 * i);
}

static void remove_database(const char *path)
{
	static const char *const ends[] = {"", "-wal", "-shm", "-lock", ".key"};
	for (size_t i = 0; i < sizeof ends / sizeof *ends; i++) {
		char file[128];
		snprintf(file, sizeof file, "%s%s", path, ends[i]);
		remove(file);
	}
}

/* ---- ours */

struct way {
	struct sum sum;
	struct judge *judge;
	struct reading batch[BATCH];
	size_t count;
};

static void take_sample(void *context, const struct sample *sample)
{
	struct way *way = context;
	judge_feed(way->judge, sample);
}

static void take_reading(void *context, const struct reading *reading)
{
	struct way *way = context;
	way->batch[way->count++] = *reading;
	sum_feed(&way->sum, 0, reading, take_sample, way);
}

static struct run_start make_start(const struct plan *plan)
{
	struct run_start start = {.press = "bench",
		.method = "astm-c39",
		.plan = *plan,
		.capacity_un = 300000 * UNITS_UN_PER_N,
		.cell_count = 1};
	start.cells[0] = (struct run_cell){.name = "cell",
		.device = "wire",
		.decoder = "plain",
		.scale = {.unit = UNIT_KILONEWTON, .factor = {1, 0}}};
	snprintf(start.program, sizeof start.program, "bench");
	return start;
}

static void store_batch(struct store *store, int64_t run, struct way *way)
{
	must(store_begin(store) == STORE_OK, "begin");
	must(store_readings_add(store, run, 0, way->batch, way->count) == STORE_OK, "readings");
	must(store_commit(store) == STORE_OK, "commit");
	way->count = 0;
}

static double measure_ours(const char *path)
{
	static struct way way;
	static struct stream stream;
	struct plan plan;
	struct message why = {""};
	struct store *store;
	int64_t run;
	must(method_plan(method_find("astm-c39"), NULL, &plan, &why), why.text);
	plan.contact_un = 300 * UNITS_UN_PER_N;
	struct run_start start = make_start(&plan);
	must(store_open(&store, path, STORE_WRITE, &why) == STORE_OK, why.text);
	must(store_begin(store) == STORE_OK, "begin");
	must(store_run_open(store, &start, &run) == STORE_OK, store_error(store));
	must(store_commit(store) == STORE_OK, "commit");
	way.judge = judge_create(LINES);
	way.count = 0;
	sum_init(&way.sum, 1, &start.cells[0].scale, start.capacity_un);
	judge_start(way.judge, &plan);
	stream_init(&stream, decoder_find("plain"), &standard, 0);

	double from = stopwatch_ns();
	for (int i = 0; i < LINES; i++) {
		stream_feed(&stream, (unsigned char *)wire[i], strlen(wire[i]),
			(struct mono_time){(int64_t)i * STEP_NS}, take_reading, &way);
		if (way.count == BATCH)
			store_batch(store, run, &way);
	}
	double ns = (stopwatch_ns() - from) / LINES;
	judge_destroy(way.judge);
	store_close(store);
	return ns;
}

/* ---- the floor */

static void run_sql(sqlite3 *database, const char *sql)
{
	must(sqlite3_exec(database, sql, NULL, NULL, NULL) == SQLITE_OK, sql);
}

static double measure_floor(const char *path)
{
	sqlite3 *database;
	sqlite3_stmt *insert;
	must(sqlite3_open(path, &database) == SQLITE_OK, path);
	run_sql(database, "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL;"
			  "CREATE TABLE reading (time_ns INTEGER, load REAL)");
	must(sqlite3_prepare_v2(database, "INSERT INTO reading VALUES (?, ?)", -1, &insert, NULL) ==
			SQLITE_OK,
		"prepare");

	double from = stopwatch_ns();
	for (int i = 0; i < LINES; i++) {
		if (i % BATCH == 0)
			run_sql(database, "BEGIN");
		sqlite3_bind_int64(insert, 1, (sqlite3_int64)i * STEP_NS);
		sqlite3_bind_double(insert, 2, strtod(wire[i], NULL));
		must(sqlite3_step(insert) == SQLITE_DONE, "insert");
		sqlite3_reset(insert);
		if (i % BATCH == BATCH - 1)
			run_sql(database, "COMMIT");
	}
	double ns = (stopwatch_ns() - from) / LINES;
	sqlite3_finalize(insert);
	sqlite3_close(database);
	return ns;
}

int main(void)
{
	char path[64];
	double ours[STOPWATCH_REPETITIONS], least[STOPWATCH_REPETITIONS];
	snprintf(path, sizeof path, "/tmp/ramplog-bench-%ld.db", (long)getpid());
	make_wire();
	for (int i = 0; i < STOPWATCH_REPETITIONS; i++) {
		remove_database(path);
		ours[i] = measure_ours(path);
		remove_database(path);
		least[i] = measure_floor(path);
	}
	remove_database(path);
	double ours_ns = stopwatch_median(ours, STOPWATCH_REPETITIONS);
	double least_ns = stopwatch_median(least, STOPWATCH_REPETITIONS);
	printf("byte to row: %.0f ns per reading (decoded, judged, stored); "
	       "floor (split, strtod, a plain row): %.0f ns; ratio %.2f\n",
		ours_ns, least_ns, ours_ns / least_ns);
	return 0;
}
