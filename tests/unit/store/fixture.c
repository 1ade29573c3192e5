/* SPDX-License-Identifier: MIT
 *
 * Folders and runs for the tests of the store.
 */
#include "unit/store/fixture.h"

#include "unit/check.h"

#include <ftw.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { BATCH = 25, PATH_SIZE = 200 };

#define STEP_NS (10 * CLOCKS_NS_PER_MS)
#define ORIGIN_NS (INT64_C(3600) * CLOCKS_NS_PER_S)
#define STARTED_NS (INT64_C(1772000000) * CLOCKS_NS_PER_S)

const struct actor fixture_actor = {1000, "mara"};

/* Runs begin a minute apart. */
static int64_t run_total;

int fixture_setup(void **state)
{
	char *path = malloc(PATH_SIZE);

	assert_non_null(path);
	run_total = 0;
	snprintf(path, PATH_SIZE, "%s/store-XXXXXX", getenv("TMPDIR") ? getenv("TMPDIR") : "/tmp");
	assert_non_null(mkdtemp(path));
	strncat(path, "/runs.db", PATH_SIZE - strlen(path) - 1);
	*state = path;
	return 0;
}

static int remove_one(const char *path, const struct stat *status, int kind, struct FTW *where)
{
	(void)status;
	(void)kind;
	(void)where;
	return remove(path);
}

int fixture_teardown(void **state)
{
	char *path = *state;

	*strrchr(path, '/') = '\0';
	int answer = nftw(path, remove_one, 16, FTW_DEPTH | FTW_PHYS);
	free(path);
	return answer;
}

struct store *fixture_open(const char *path, enum store_mode mode)
{
	struct message why = {""};
	struct store *store;
	bool changed = false;

	if (store_open(&store, path, mode, &why) != STORE_OK)
		fail_msg("%s", why.text);
	if (mode == STORE_WRITE && store_key_take(store, &fixture_actor,
					   (struct utc_time){STARTED_NS}, &changed) != STORE_OK)
		fail_msg("%s", store_error(store));
	return store;
}

sqlite3 *fixture_connect(const char *path)
{
	sqlite3 *db;

	assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
	return db;
}

void fixture_begin(struct store *store)
{
	assert_int_equal(store_begin(store), STORE_OK);
}

void fixture_commit(struct store *store)
{
	assert_int_equal(store_commit(store), STORE_OK);
}

void fixture_specimen(struct specimen *specimen, const char *id)
{
	*specimen = (struct specimen){
		.shape = SHAPE_CYLINDER,
		.width_um = {100000, 100250},
		.length_um = 200500,
		.cast = {STARTED_NS - INT64_C(28) * 86400 * CLOCKS_NS_PER_S},
		.anticipated_pa = 3e6,
		.chosen_rate_pa_s = 0,
	};
	snprintf(specimen->id, sizeof(specimen->id), "%s", id);
	snprintf(specimen->set, sizeof(specimen->set), "set-%c", id[0]);
	snprintf(specimen->method, sizeof(specimen->method), "astm-c39");
}

void fixture_start(struct run_start *start, const char *press, const struct specimen *specimen,
	size_t cell_count)
{
	struct message why = {""};

	memset(start, 0, sizeof(*start));
	snprintf(start->press, sizeof(start->press), "%s", press);
	snprintf(start->method, sizeof(start->method), "astm-c39");
	start->judged_by = method_find("astm-c39");
	start->has_specimen = specimen != NULL;
	if (specimen)
		start->specimen = *specimen;
	if (!method_plan(method_find("astm-c39"), specimen, &start->plan, &why))
		fail_msg("%s", why.text);
	start->plan.contact_un = 100 * UNITS_UN_PER_N;
	start->capacity_un = 2000000 * UNITS_UN_PER_N;
	start->cell_count = cell_count;
	for (size_t i = 0; i < cell_count; i++) {
		struct run_cell *cell = &start->cells[i];
		snprintf(cell->name, sizeof(cell->name), "cell-%zu", i + 1);
		snprintf(cell->device, sizeof(cell->device), "/dev/ttyS%zu", i);
		snprintf(cell->decoder, sizeof(cell->decoder), "plain");
		cell->scale = (struct scale){UNIT_KILONEWTON, {1, 0}, 0};
		start->watch.places[i] = (struct thrust_place){i ? 90000 : -90000, 1000};
	}
	/* One cell says nothing of where the load acts. */
	start->watch.place_count = cell_count > 1 ? cell_count : 0;
	start->started.ns = STARTED_NS;
	start->origin.ns = ORIGIN_NS;
	snprintf(start->boot_id, sizeof(start->boot_id), "0c9a7f5e-1111-4a4a-9b9b-000000000001");
	snprintf(start->program, sizeof(start->program), "ramplogd 0.1.0");
}

void fixture_register(struct store *store, const char *id)
{
	struct specimen specimen;

	fixture_specimen(&specimen, id);
	fixture_begin(store);
	assert_int_equal(store_specimen_add(store, &specimen, &fixture_actor, (struct utc_time){5}),
		STORE_OK);
	fixture_commit(store);
}

void fixture_seat(struct store *store, const char *press, const char *id)
{
	fixture_begin(store);
	assert_int_equal(
		store_seat(store, press, id, &fixture_actor, (struct utc_time){6}), STORE_OK);
	fixture_commit(store);
}

int64_t fixture_run_open(struct store *store, const char *press, const struct specimen *specimen)
{
	struct run_start start;
	int64_t run = 0;

	fixture_start(&start, press, specimen, 1);
	fixture_begin(store);
	assert_int_equal(store_run_open(store, &start, &run), STORE_OK);
	fixture_commit(store);
	return run;
}

/* Load in newtons after so many nanoseconds: a second unloaded, a ramp, a break. */
static double load_at(int64_t time_ns, double newton_per_s, double maximum_newton)
{
	double seconds = (double)time_ns / 1e9 - 1;
	double load = seconds > 0 ? seconds * newton_per_s : 0;

	return load <= maximum_newton ? load : 0;
}

struct judging {
	struct sum sum;
	struct judge *judge;
	struct press_watch watch;
	bool over;
};

static void judge_one(void *context, const struct sample *sample)
{
	struct judging *live = context;

	if (live->over)
		return;
	live->over = judge_feed(live->judge, sample);
	press_watch_feed(&live->watch, sample, sum_shares(&live->sum), judge_phase(live->judge));
}

struct press {
	struct store *store;
	const struct run_start *start;
	struct judging *live;
	int64_t run;
	double newton_per_s, maximum_newton;
};

/* One batch of every cell; cells are read 1 ms apart and share the load unevenly. */
static void write_batch(struct press *press, int64_t first)
{
	struct reading readings[SUM_CELLS_MAX][BATCH];
	size_t cells = press->start->cell_count;

	for (int64_t i = 0; i < BATCH; i++) {
		for (size_t cell = 0; cell < cells; cell++) {
			int64_t time_ns = (first + i) * STEP_NS + (int64_t)cell * CLOCKS_NS_PER_MS;
			double share = ((double)cell + 1) * 2 / (double)(cells * (cells + 1));
			double load = load_at(time_ns, press->newton_per_s, press->maximum_newton);
			struct reading reading = {
				.time = {ORIGIN_NS + time_ns + (i * 37) % 11 * 1000},
				.value = {(int64_t)(load * share / 10), -2},
				.unit = UNIT_KILONEWTON,
				.status = READING_MOTION,
			};
			readings[cell][i] = reading;
			sum_feed(&press->live->sum, cell, &reading, judge_one, press->live);
		}
	}
	for (size_t cell = 0; cell < cells; cell++)
		assert_int_equal(
			store_readings_add(press->store, press->run, cell, readings[cell], BATCH),
			STORE_OK);
}

static void write_run(struct press *press, double rate_mpa_s)
{
	double area = 0.00787;
	struct scale scales[SUM_CELLS_MAX];

	for (size_t cell = 0; cell < press->start->cell_count; cell++)
		scales[cell] = press->start->cells[cell].scale;
	sum_init(&press->live->sum, press->start->cell_count, scales, press->start->capacity_un);
	judge_start(press->live->judge, &press->start->plan);
	press_watch_start(&press->live->watch, &press->start->watch, press->start->cell_count,
		&press->start->plan, press->start->has_specimen ? &press->start->specimen : NULL);
	press->newton_per_s = rate_mpa_s * 1e6 * area;
	press->maximum_newton = 3e6 * area;
	int64_t steps = (int64_t)((3 / rate_mpa_s + 4) * 100);
	for (int64_t i = 0; i < steps; i += BATCH) {
		fixture_begin(press->store);
		write_batch(press, i);
		fixture_commit(press->store);
	}
}

static void open_run(struct store *store, const char *specimen_id, struct run_start *start,
	const char *press, size_t cell_count, int64_t *run)
{
	struct utc_time now = {STARTED_NS - CLOCKS_NS_PER_S};
	struct specimen specimen;

	fixture_begin(store);
	if (specimen_id) {
		fixture_specimen(&specimen, specimen_id);
		assert_int_equal(
			store_specimen_add(store, &specimen, &fixture_actor, now), STORE_OK);
		assert_int_equal(
			store_seat(store, press, specimen_id, &fixture_actor, now), STORE_OK);
	}
	fixture_start(start, press, specimen_id ? &specimen : NULL, cell_count);
	start->started.ns += ++run_total * 60 * CLOCKS_NS_PER_S;
	assert_int_equal(store_run_open(store, start, run), STORE_OK);
	fixture_commit(store);
}

int64_t fixture_run(struct store *store, const char *press_name, const char *specimen,
	size_t cell_count, double rate_mpa_s, struct outcome *outcome)
{
	static struct outcome unwanted;
	struct run_start start;
	struct judging live = {.judge = judge_create(100000)};
	struct press press = {.store = store, .start = &start, .live = &live};

	if (!outcome)
		outcome = &unwanted;
	assert_non_null(live.judge);
	open_run(store, specimen, &start, press_name, cell_count, &press.run);
	write_run(&press, rate_mpa_s);
	memset(outcome, 0, sizeof(*outcome));
	judge_finish(live.judge, &outcome->judgement);
	judge_destroy(live.judge);
	outcome_derive(outcome, method_find(start.method), specimen ? &start.specimen : NULL);
	press_watch_finish(&live.watch, outcome);
	fixture_begin(store);
	assert_int_equal(store_run_close(store, press.run, outcome,
				 (struct utc_time){start.started.ns + 20 * CLOCKS_NS_PER_S}),
		STORE_OK);
	fixture_commit(store);
	return press.run;
}

int64_t fixture_run_unclosed(struct store *store, const char *press_name)
{
	struct run_start start;
	struct judging live = {.judge = judge_create(100000)};
	struct press press = {.store = store, .start = &start, .live = &live};

	assert_non_null(live.judge);
	open_run(store, NULL, &start, press_name, 1, &press.run);
	write_run(&press, 0.5);
	judge_destroy(live.judge);
	return press.run;
}

/* Of the press, the methods and sets. */
static void add_beside(struct store *store, const char *specimen, struct utc_time now)
{
	const struct loss loss = {"north", {1}, {2}, 3, 4, "the disk was full"};
	struct verification verification = {
		.press = "north", .reference = "load ring", .force_count = 1};
	const struct zero_entry zero = {"north", "left", {UNIT_NEWTON, {1, 0}, 5}, 0};
	const struct set_terms terms = {"pier-7d", "pier", ACCEPTANCE_ACI_318, 3e6, 0, true};
	struct detail detail;

	assert_int_equal(store_loss_add(store, &loss), STORE_OK);
	assert_int_equal(
		store_verification_add(store, &verification, &fixture_actor, now), STORE_OK);
	assert_int_equal(store_upkeep_add(store, "north", UPKEEP_REPAIR, "new pump", now,
				 &fixture_actor, now),
		STORE_OK);
	assert_int_equal(store_zero_add(store, &zero, "", &fixture_actor, now), STORE_OK);
	assert_int_equal(store_method_confirm(store, method_find("astm-c39"), "2021",
				 "pages 1 to 9", &fixture_actor, now),
		STORE_OK);
	detail_init(&detail);
	detail.width_count = 1;
	detail.widths_um[0] = 100000;
	assert_int_equal(
		store_detail_add(store, specimen, &detail, "", &fixture_actor, now), STORE_OK);
	assert_int_equal(store_terms_add(store, &terms, &fixture_actor, now), STORE_OK);
}

void fixture_rows(struct store *store, int64_t run, const char *specimen_id)
{
	const struct utc_time now = {STARTED_NS + 100000 * CLOCKS_NS_PER_S};
	struct specimen specimen;

	fixture_specimen(&specimen, specimen_id);
	specimen.width_um[0] += 1000;
	fixture_begin(store);
	assert_int_equal(store_fracture_add(store, run, 3, "seen", &fixture_actor, now), STORE_OK);
	assert_int_equal(
		store_specimen_correct(store, &specimen, "measured again", &fixture_actor, now),
		STORE_OK);
	add_beside(store, specimen_id, now);
	fixture_report(store, 1, 0);
	fixture_commit(store);
}

void fixture_report(struct store *store, int64_t run, int64_t replaces)
{
	struct issued issued = {.subject = "set-a",
		.is_set = true,
		.at = {STARTED_NS + 7200 * CLOCKS_NS_PER_S},
		.laboratory = "Kaiwerk",
		.replaces = replaces,
		.format = "pdf",
		.run_count = 1,
		.runs = {run}};

	store_file_hash("a file", 6, issued.hash);
	snprintf(issued.reason, sizeof(issued.reason), "%s", replaces ? "mistyped" : "");
	assert_int_equal(store_report_next(store, &issued.number), STORE_OK);
	assert_int_equal(store_report_add(store, &issued, &fixture_actor, issued.at), STORE_OK);
}
