/* SPDX-License-Identifier: MIT
 *
 * Fills a database with so many short runs, each of a specimen that was registered and seated,
 * judged, closed and sealed like real ones, its fracture entered, to see how lists, starts and
 * audits behave when a laboratory has been at it for decades: `fill FILE RUNS`. One in fifty is
 * loaded too fast.
 */
#include "store/replay.h"
#include "store/sql.h"
#include "store/store.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { READINGS = 40, GROUP = 2000, PRESSES = 4, SET = 3 };

static const struct actor technician = {.uid = 1000, .name = "technician"};

static const int64_t age_ns = INT64_C(28) * 24 * 3600 * CLOCKS_NS_PER_S;

static void must(enum store_status status, struct store *store)
{
	if (status == STORE_OK)
		return;
	fprintf(stderr, "fill: %s\n", store_error(store));
	exit(1);
}

static void make_start(struct run_start *start, int64_t number)
{
	struct message why;

	memset(start, 0, sizeof(*start));
	start->judged_by = method_find("astm-c39");
	start->specimen = (struct specimen){.shape = SHAPE_CYLINDER,
		.width_um = {100000, 100250},
		.length_um = 200000,
		.anticipated_pa = 5e6};
	start->started.ns = INT64_C(1600000000000000000) + number * 300 * CLOCKS_NS_PER_S;
	start->specimen.cast.ns = start->started.ns - age_ns;
	snprintf(start->specimen.id, sizeof(start->specimen.id), "S-%lld", (long long)number);
	snprintf(start->specimen.set, sizeof(start->specimen.set), "set-%lld",
		(long long)(number / SET));
	snprintf(start->specimen.method, sizeof(start->specimen.method), "astm-c39");
	start->has_specimen = true;
	snprintf(start->press, sizeof(start->press), "press-%d", (int)(number / SET % PRESSES));
	snprintf(start->method, sizeof(start->method), "astm-c39");
	snprintf(start->program, sizeof(start->program), "fill");
	if (!method_plan(start->judged_by, &start->specimen, &start->plan, &why))
		exit(1);
	start->cell_count = 1;
	snprintf(start->cells[0].name, sizeof(start->cells[0].name), "cell");
	start->cells[0].scale = (struct scale){UNIT_KILONEWTON, {1, 0}, 0};
}

static void add_specimen(struct store *store, const struct run_start *start)
{
	const struct specimen *specimen = &start->specimen;
	struct detail detail;

	detail_init(&detail);
	detail.intended_age_ns = age_ns;
	must(store_specimen_add(store, specimen, &technician, specimen->cast), store);
	must(store_detail_add(store, specimen->id, &detail), store);
	must(store_seat(store, start->press, specimen->id, &technician, start->started), store);
}

/* A ramp to some 40 kN and a break, two readings a second. */
static void make_readings(struct reading *readings, int64_t number)
{
	int64_t step = number % 50 ? 980 : 1500; /* newtons; 0.25 MPa/s, and too much of it */

	for (int64_t i = 0; i < READINGS; i++) {
		int64_t load_n = i < READINGS - 4 ? (i + 1) * step + number * 7919 % 97 * i : 150;

		readings[i] =
			(struct reading){.time = {i * (CLOCKS_NS_PER_S / 2) + (i * 37) % 11 * 1000},
				.value = {load_n / 10, -2},
				.unit = UNIT_KILONEWTON};
	}
}

/* As its readings are judged again, so that an audit agrees. */
static void close_run(struct store *store, int64_t run)
{
	static struct run_record record;
	struct replay replay;

	must(store_run_load(store, run, &record), store);
	must(replay_run(store, &record, &replay), store);
	must(store_run_close(store, run, &replay.outcome, record.start.started), store);
	replay_finish(&replay);
}

static void add_run(struct store *store, int64_t number)
{
	static struct run_start start;
	struct reading readings[READINGS];
	int64_t run = 0;

	make_start(&start, number);
	make_readings(readings, number);
	add_specimen(store, &start);
	must(store_run_open(store, &start, &run), store);
	must(store_readings_add(store, run, 0, readings, READINGS), store);
	close_run(store, run);
	must(store_fracture_add(store, run, 1 + (int)(number % 6), "", &technician, start.started),
		store);
}

int main(int argc, char **argv)
{
	struct message why;
	struct store *store;
	bool changed;
	int64_t count = argc == 3 ? strtoll(argv[2], NULL, 10) : 0;

	if (count < 1) {
		fputs("usage: fill FILE RUNS\n", stderr);
		return 2;
	}
	if (store_open(&store, argv[1], STORE_WRITE, &why) != STORE_OK) {
		fprintf(stderr, "fill: %s\n", why.text);
		return 1;
	}
	must(store_key_take(store, &technician, (struct utc_time){1}, &changed), store);
	sqlite3_exec(store->db, "PRAGMA synchronous = OFF; PRAGMA cache_size = -400000", NULL, NULL,
		NULL);
	for (int64_t number = 0; number < count;) {
		must(store_begin(store), store);
		for (int i = 0; i < GROUP && number < count; i++)
			add_run(store, number++);
		must(store_commit(store), store);
	}
	store_close(store);
	return 0;
}
