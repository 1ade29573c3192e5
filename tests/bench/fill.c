/* SPDX-License-Identifier: MIT
 *
 * Fills a database with so many short runs, closed and sealed like real ones, to see how lists and
 * starts behave when a laboratory has been at it for decades: `fill FILE RUNS`. What the readings
 * give is not what is stored as outcome: this is no database to audit.
 */
#include "store/sql.h"
#include "store/store.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { READINGS = 40, GROUP = 2000 };

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
	const struct method *method = method_find("astm-c39");

	memset(start, 0, sizeof(*start));
	start->specimen = (struct specimen){.shape = SHAPE_CYLINDER,
		.width_um = {100000, 100250},
		.length_um = 200000,
		.anticipated_pa = 30e6};
	snprintf(start->specimen.id, sizeof(start->specimen.id), "S-%lld", (long long)number);
	snprintf(start->specimen.set, sizeof(start->specimen.set), "set-%lld",
		(long long)(number / 3));
	snprintf(start->specimen.method, sizeof(start->specimen.method), "astm-c39");
	start->has_specimen = true;
	snprintf(start->press, sizeof(start->press), "press-%d", (int)(number % 4));
	snprintf(start->method, sizeof(start->method), "astm-c39");
	snprintf(start->program, sizeof(start->program), "fill");
	if (!method_plan(method, &start->specimen, &start->plan, &why))
		exit(1);
	start->cell_count = 1;
	snprintf(start->cells[0].name, sizeof(start->cells[0].name), "cell");
	start->cells[0].scale = (struct scale){UNIT_KILONEWTON, {1, 0}, 0};
	start->started.ns = INT64_C(1600000000000000000) + number * 300 * CLOCKS_NS_PER_S;
}

static void add_run(struct store *store, int64_t number)
{
	static struct run_start start;
	static struct outcome outcome;
	struct reading readings[READINGS];
	int64_t run = 0;

	make_start(&start, number);
	for (int i = 0; i < READINGS; i++)
		readings[i] = (struct reading){.time = {i * 10000000 + (i * 37) % 11 * 1000},
			.value = {i * i, -2},
			.unit = UNIT_KILONEWTON};
	outcome.judgement.maximum_un = (200000 + number * 7919 % 90000) * UNITS_UN_PER_N;
	outcome.judgement.rate.verdict = number % 50 ? VERDICT_IN_BAND : VERDICT_OUT_OF_BAND;
	outcome.judgement.rate.mean_pa_s = 0.25e6;
	outcome_derive(&outcome, method_find("astm-c39"), &start.specimen);
	must(store_run_open(store, &start, &run), store);
	must(store_readings_add(store, run, 0, readings, READINGS), store);
	must(store_run_close(store, run, &outcome, start.started), store);
}

int main(int argc, char **argv)
{
	struct actor actor = {.uid = 0};
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
	must(store_key_take(store, &actor, (struct utc_time){1}, &changed), store);
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
