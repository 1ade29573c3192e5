/* SPDX-License-Identifier: MIT
 *
 * What the evidence costs: bytes a sample, and the audit (every sample decoded, judged again and
 * compared, every hash and signature) beside a bare scan of the same file, beside a scan of a plain
 * row for each sample, and beside what a laboratory would write in Python. Runs of two minutes at
 * 1 kHz, recorded as the daemon does it, a chunk for each quarter of a second.
 *
 * Times are of one processor, so that a busy machine changes them less; the audit as it is called
 * uses all of them.
 *
 *	bench-audit [RUNS [REPETITIONS]]
 *	bench-audit --gate
 *
 * The gate is the one ratio that holds on every machine: in one thread the audit goes through at
 * least half as many samples as the scan of plain rows that hold them.
 */
#include "stopwatch.h"

#include "base/units.h"
#include "store/audit.h"
#include "store/replay.h"
#include "store/sql.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

enum { HZ = 1000, BATCH = 250, LOADING_S = 118, READINGS = (LOADING_S + 2) * HZ };

static const struct actor technician = {.uid = 1000, .name = "technician"};
static struct reading readings[READINGS];
static char path[64], rows_path[64];
static size_t sample_count;
static int repetitions = STOPWATCH_REPETITIONS;

static void must(bool done, const char *what)
{
	if (done)
		return;
	fprintf(stderr, "bench: %s\n", what);
	exit(1);
}

static void must_store(enum store_status status, struct store *store)
{
	must(status == STORE_OK, store_error(store));
}

static uint64_t random_state = 1;

static int64_t uniform(int64_t width)
{
	random_state = random_state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
	return (int64_t)(random_state >> 33) % width;
}

/* A second unloaded, a ramp of 0.25 MPa/s on a cylinder of 100 mm with noise of 20 N, a break, a
 * second unloaded; 10 N a count; stamps late by some tens of microseconds. */
static void make_readings(int64_t first_ns)
{
	for (int64_t i = 0; i < READINGS; i++) {
		int64_t into = i - HZ;
		int64_t load_mn = into > 0 && into < LOADING_S * HZ ? into * 1963 : 0;
		int64_t noise_mn = uniform(40000) + uniform(40000) - 40000;

		readings[i] = (struct reading){
			.time = {first_ns + i * (CLOCKS_NS_PER_S / HZ) + uniform(60000)},
			.value = {(load_mn + noise_mn) / 10000, -2},
			.unit = UNIT_KILONEWTON,
		};
	}
}

static void make_start(struct run_start *start, int number)
{
	struct message why;

	memset(start, 0, sizeof(*start));
	start->judged_by = method_find("astm-c39");
	start->has_specimen = true;
	start->specimen = (struct specimen){.shape = SHAPE_CYLINDER,
		.width_um = {100000, 100000},
		.length_um = 200000,
		.anticipated_pa = 30e6};
	snprintf(start->specimen.id, sizeof(start->specimen.id), "S-%d", number);
	snprintf(start->specimen.method, sizeof(start->specimen.method), "astm-c39");
	snprintf(start->press, sizeof(start->press), "press");
	snprintf(start->method, sizeof(start->method), "astm-c39");
	snprintf(start->program, sizeof(start->program), "bench");
	must(method_plan(start->judged_by, &start->specimen, &start->plan, &why), why.text);
	start->plan.contact_un = 500 * UNITS_UN_PER_N;
	start->cell_count = 1;
	snprintf(start->cells[0].name, sizeof(start->cells[0].name), "cell");
	start->cells[0].scale = (struct scale){UNIT_KILONEWTON, {1, 0}, 0};
	start->started.ns = INT64_C(1600000000000000000) + number * 300 * CLOCKS_NS_PER_S;
	start->origin.ns = readings[0].time.ns;
}

static void add_run(struct store *store, int number)
{
	static struct run_start start;
	static struct run_record record;
	struct replay replay;
	int64_t run = 0;

	make_readings(number * 300 * CLOCKS_NS_PER_S);
	make_start(&start, number);
	must_store(store_begin(store), store);
	must_store(store_run_open(store, &start, &run), store);
	for (size_t i = 0; i < READINGS; i += BATCH)
		must_store(store_readings_add(store, run, 0, readings + i, BATCH), store);
	must_store(store_run_load(store, run, &record), store);
	must_store(replay_run(store, &record, &replay), store);
	must(replay.outcome.judgement.end == END_BROKEN, "the run does not end as it should");
	must_store(store_run_close(store, run, &replay.outcome, start.started), store);
	replay_finish(&replay);
	must_store(store_commit(store), store);
}

static void fill(int runs)
{
	struct store *store;
	struct message why;
	bool changed;

	must(store_open(&store, path, STORE_WRITE, &why) == STORE_OK, why.text);
	must_store(store_key_take(store, &technician, (struct utc_time){1}, &changed), store);
	sql_run(store, "PRAGMA synchronous = OFF");
	for (int i = 0; i < runs; i++)
		add_run(store, i);
	store_close(store);
}

/* The same as a row each, as anybody would keep them. */
static void fill_rows(int runs)
{
	sqlite3 *db;
	sqlite3_stmt *insert;

	must(sqlite3_open(rows_path, &db) == SQLITE_OK, rows_path);
	sqlite3_exec(db,
		"PRAGMA synchronous = OFF;"
		"CREATE TABLE reading (run INTEGER, time_s REAL, load_kn REAL);"
		"CREATE INDEX reading_by_run ON reading (run); BEGIN",
		NULL, NULL, NULL);
	must(sqlite3_prepare_v2(db, "INSERT INTO reading VALUES (?, ?, ?)", -1, &insert, NULL) ==
			SQLITE_OK,
		"prepare");
	random_state = 1;
	for (int run = 0; run < runs; run++) {
		make_readings(run * 300 * CLOCKS_NS_PER_S);
		for (size_t i = 0; i < READINGS; i++) {
			sqlite3_bind_int(insert, 1, run + 1);
			sqlite3_bind_double(insert, 2, (double)readings[i].time.ns * 1e-9);
			sqlite3_bind_double(insert, 3, (double)readings[i].value.mantissa * 0.01);
			sqlite3_step(insert);
			sqlite3_reset(insert);
		}
	}
	sqlite3_finalize(insert);
	must(sqlite3_exec(db, "COMMIT", NULL, NULL, NULL) == SQLITE_OK, sqlite3_errmsg(db));
	sqlite3_close(db);
}

/* ---- scans */

static uint64_t seen; /* so that no compiler leaves the looking out */

static void look_at(sqlite3_stmt *row, int column)
{
	const unsigned char *bytes;
	int size;

	switch (sqlite3_column_type(row, column)) {
	case SQLITE_INTEGER:
		seen += (uint64_t)sqlite3_column_int64(row, column);
		break;
	case SQLITE_FLOAT:
		seen += sqlite3_column_double(row, column) > 0;
		break;
	default:
		bytes = sqlite3_column_blob(row, column);
		size = sqlite3_column_bytes(row, column);
		for (int i = 0; i < size; i++)
			seen += bytes[i];
	}
}

static void scan_table(sqlite3 *db, const char *table)
{
	sqlite3_stmt *rows;
	char text[128];

	snprintf(text, sizeof text, "SELECT * FROM \"%s\"", table);
	must(sqlite3_prepare_v2(db, text, -1, &rows, NULL) == SQLITE_OK, sqlite3_errmsg(db));
	while (sqlite3_step(rows) == SQLITE_ROW) {
		for (int column = 0; column < sqlite3_column_count(rows); column++)
			look_at(rows, column);
	}
	sqlite3_finalize(rows);
}

/* Every byte of every row of every table. */
static void scan(const char *file)
{
	sqlite3 *db;
	sqlite3_stmt *tables;

	must(sqlite3_open_v2(file, &db, SQLITE_OPEN_READONLY, NULL) == SQLITE_OK, file);
	must(sqlite3_prepare_v2(db, "SELECT name FROM sqlite_schema WHERE type = 'table'", -1,
		     &tables, NULL) == SQLITE_OK,
		sqlite3_errmsg(db));
	while (sqlite3_step(tables) == SQLITE_ROW)
		scan_table(db, (const char *)sqlite3_column_text(tables, 0));
	sqlite3_finalize(tables);
	sqlite3_close(db);
}

static void scan_chunks(void)
{
	scan(path);
}

static void scan_rows(void)
{
	scan(rows_path);
}

/* ---- the audit and its parts */

static void on_finding(void *context, const struct audit_finding *finding)
{
	(void)context;
	fprintf(stderr, "bench: %s: %s: %s, %s\n", finding->place, finding->field, finding->stored,
		finding->derived);
	exit(1);
}

static struct store *open_store(void)
{
	struct store *store;
	struct message why;

	must(store_open(&store, path, STORE_READ, &why) == STORE_OK, why.text);
	return store;
}

static void audit(void)
{
	struct audit_summary summary;
	struct store *store = open_store();

	must_store(audit_runs(store, NULL, 0, on_finding, NULL, NULL, &summary), store);
	must(summary.sample_count > 0, "nothing was audited");
	sample_count = summary.sample_count;
	store_close(store);
}

static bool take_nothing(void *context, size_t cell, const struct reading *reading)
{
	(void)context;
	seen += cell + (uint64_t)reading->time.ns;
	return true;
}

static int64_t count_runs(struct store *store)
{
	struct audit_extent extent;

	must_store(audit_begin(store, &extent), store);
	return extent.newest_run;
}

static void decode(void)
{
	struct store *store = open_store();

	for (int64_t run = count_runs(store); run > 0; run--)
		must_store(store_readings_each(store, run, take_nothing, NULL), store);
	store_close(store);
}

static void derive(void)
{
	static struct run_record record;
	struct judge *judge = judge_create(JUDGE_TRACK_MAX);
	struct store *store = open_store();
	struct replay replay;

	for (int64_t run = count_runs(store); run > 0; run--) {
		must_store(store_run_load(store, run, &record), store);
		must_store(replay_outcome(store, &record, judge, &replay), store);
		replay_finish(&replay);
	}
	judge_destroy(judge);
	store_close(store);
}

static void check_seals(void)
{
	struct audit_hooks hooks = {on_finding, NULL, NULL};
	struct audit_summary summary = {.run_count = 0};
	struct audit_extent extent;
	struct store *store = open_store();

	must_store(audit_begin(store, &extent), store);
	must_store(audit_every_seal(store, &extent, &hooks, &summary), store);
	store_close(store);
}

/* ---- other programs */

static bool spawn(const char *const *words)
{
	int status = 0;
	pid_t pid = fork();

	must(pid >= 0, "fork");
	if (pid == 0) {
		must(freopen("/dev/null", "w", stdout) != NULL, "/dev/null");
		unsetenv("MALLOC_PERTURB_");
		execvp(words[0], (char *const *)words);
		_exit(127);
	}
	waitpid(pid, &status, 0);
	return WIFEXITED(status) && WEXITSTATUS(status) == 0;
}

static void audit_with_all(void)
{
	const char *const words[] = {getenv("RAMPLOG"), "audit", "--database", path, NULL};

	must(words[0] != NULL, "RAMPLOG is not set: run this through meson");
	must(spawn(words), "ramplog audit failed");
}

static void check_in_python(void)
{
	const char *const words[] = {
		"/usr/bin/python3", "-B", getenv("LABORATORY"), rows_path, NULL};

	must(spawn(words), "the Python program failed");
}

static bool has_python(void)
{
	const char *const words[] = {"/usr/bin/python3", "-c", "import numpy", NULL};

	return getenv("LABORATORY") && spawn(words);
}

/* ---- the figures */

static double processor_ns(void)
{
	struct rusage usage;

	getrusage(RUSAGE_CHILDREN, &usage);
	return stopwatch_cpu_ns() + 1e9 * (double)(usage.ru_utime.tv_sec + usage.ru_stime.tv_sec) +
	       1e3 * (double)(usage.ru_utime.tv_usec + usage.ru_stime.tv_usec);
}

static const struct part {
	const char *name;
	void (*run)(void);
} parts[] = {
	{"bare scan of every table", scan_chunks},
	{"bare scan, a row a sample", scan_rows},
	{"read and decode", decode},
	{"derive: decode, scale, judge", derive},
	{"seals: hashes, signatures, links", check_seals},
	{"audit, in one thread", audit},
	{"audit, the command", audit_with_all},
	{"Python and numpy", check_in_python},
};

enum { PARTS = sizeof parts / sizeof *parts, REPETITIONS_MAX = 99 };

static void measure(void)
{
	static double used_ns[PARTS][REPETITIONS_MAX], took_ns[PARTS][REPETITIONS_MAX];
	size_t count = has_python() ? PARTS : PARTS - 1;

	for (int i = 0; i < repetitions; i++) {
		for (size_t part = 0; part < count; part++) {
			double cpu_ns = processor_ns(), from_ns = stopwatch_ns();
			parts[part].run();
			used_ns[part][i] = processor_ns() - cpu_ns;
			took_ns[part][i] = stopwatch_ns() - from_ns;
		}
	}
	printf("%-34s %14s %14s %14s\n", "", "ns a sample", "M samples/s", "M samples/s");
	printf("%-34s %14s %14s %14s\n", "", "(processor)", "and processor", "as it went");
	for (size_t part = 0; part < count; part++) {
		double used = stopwatch_median(used_ns[part], (size_t)repetitions);
		double took = stopwatch_median(took_ns[part], (size_t)repetitions);
		printf("%-34s %14.1f %14.2f %14.2f\n", parts[part].name,
			used / (double)sample_count, (double)sample_count / used * 1e3,
			(double)sample_count / took * 1e3);
	}
	if (count < PARTS)
		puts("Python: skipped, there is no numpy (python3-numpy)");
}

static void remove_files(void)
{
	static const char *const ends[] = {"", "-wal", "-shm", "-lock", ".key"};
	char file[96];

	for (size_t i = 0; i < sizeof ends / sizeof *ends; i++) {
		snprintf(file, sizeof file, "%s%s", path, ends[i]);
		unlink(file);
	}
	unlink(rows_path);
}

/* What the command takes for a file with next to nothing in it: to be loaded, and for every thread
 * to read the tables' definitions and to prepare its statements. */
static void measure_start(void)
{
	double used_ns[REPETITIONS_MAX];

	fill(1);
	for (int i = 0; i < repetitions; i++) {
		double cpu_ns = processor_ns();
		audit_with_all();
		used_ns[i] = processor_ns() - cpu_ns;
	}
	printf("audit, the command, of one run: %.0f ms of processor time\n",
		stopwatch_median(used_ns, (size_t)repetitions) / 1e6);
	remove_files();
}

static bool hold_gate(void)
{
	enum { PAIRS = 5 };
	double ratios[PAIRS];

	for (int i = 0; i < PAIRS; i++) {
		double from_ns = processor_ns();
		audit();
		double between_ns = processor_ns();
		scan_rows();
		ratios[i] = (processor_ns() - between_ns) / (between_ns - from_ns);
	}
	double ratio = stopwatch_median(ratios, PAIRS);
	printf("%.2f of the speed of a scan of plain rows\n", ratio);
	return ratio >= 0.5;
}

static void put_sizes(int runs)
{
	struct stat chunks, rows;

	must(stat(path, &chunks) == 0 && stat(rows_path, &rows) == 0, path);
	printf("%d runs, %zu samples, %ld processors\n", runs, sample_count,
		sysconf(_SC_NPROCESSORS_ONLN));
	printf("whole file: %.2f bytes a reading, all digits, stamps and seals in it; a row each "
	       "(run, time, load): %.1f\n",
		(double)chunks.st_size / ((double)runs * READINGS),
		(double)rows.st_size / ((double)runs * READINGS));
}

int main(int argc, char **argv)
{
	bool gate = argc > 1 && strcmp(argv[1], "--gate") == 0, held = true;
	int runs = gate ? 8 : argc > 1 ? (int)strtol(argv[1], NULL, 10) : 20;

	if (argc > 2)
		repetitions = (int)strtol(argv[2], NULL, 10);
	setvbuf(stdout, NULL, _IOLBF, 0);
	if (runs < 1 || repetitions < 1 || repetitions > REPETITIONS_MAX)
		return 2;
	snprintf(path, sizeof path, "/tmp/ramplog-bench-%ld.db", (long)getpid());
	snprintf(rows_path, sizeof rows_path, "/tmp/ramplog-bench-%ld-rows.db", (long)getpid());
	if (!gate)
		measure_start();
	random_state = 1;
	fill(runs);
	fill_rows(runs);
	audit();
	put_sizes(runs);
	if (gate)
		held = hold_gate();
	else
		measure();
	remove_files();
	return seen == 0 || !held;
}
