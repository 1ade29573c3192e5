/* SPDX-License-Identifier: MIT */
#include "synthetic.h"

#include "../check.h"
#include "../random.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { READINGS_MAX = 30000, BATCH = 500 };

/* 2026-09-07T07:00:00Z */
#define FIRST_NS (INT64_C(1788764400) * CLOCKS_NS_PER_S)
#define DAY_S 86400.0
#define ORIGIN_NS (INT64_C(3600) * CLOCKS_NS_PER_S)

static const double unloaded_s = 0.6;
static const double changeover_s = 4; /* how long an overshoot takes to die away */
static const double hunting_hz = 1.1; /* of a hydraulic regulator */
static const double softening = 0.93; /* of the strength; from here on the rate falls */
static const double noise_n = 12;
static const double after_s = 0.8; /* recorded after the break */

void synthetic_init(struct synthetic *run)
{
	*run = (struct synthetic){.press = "north",
		.specimen = "A-1",
		.set = "A",
		.method = "astm-c39",
		.technician = "mara",
		.fracture = 2,
		.note = "",
		.strength_mpa = 31,
		.anticipated_mpa = 30,
		.diameter_mm = 100.25,
		.length_mm = 200.5,
		.approach_mpa_s = 0.6,
		.rate_mpa_s = 0.25,
		.hunting_mpa = 0.02,
		.age_days = 28,
		.readings_s = 50,
		.seed = 1};
}

struct utc_time synthetic_time(double days)
{
	return (struct utc_time){FIRST_NS + (int64_t)(days * DAY_S) * CLOCKS_NS_PER_S};
}

static void fill_specimen(const struct synthetic *run, struct specimen *specimen)
{
	*specimen = (struct specimen){.shape = run->shape,
		.width_um = {(int64_t)lround(run->diameter_mm * 1000),
			(int64_t)lround(run->diameter_mm * 1000) + 250},
		.length_um = (int64_t)lround(run->length_mm * 1000),
		.anticipated_pa = run->anticipated_mpa * 1e6};
	for (size_t i = 0; i < 2 && run->shape != SHAPE_CYLINDER; i++)
		specimen->width_um[i] = (int64_t)lround(run->faces_mm[i] * 1000);
	if (run->age_days > 0)
		specimen->cast = synthetic_time(run->started_days - run->age_days);
	snprintf(specimen->id, sizeof(specimen->id), "%s", run->specimen);
	snprintf(specimen->set, sizeof(specimen->set), "%s", run->set);
	snprintf(specimen->method, sizeof(specimen->method), "%s", run->method);
}

static void fill_start(const struct synthetic *run, struct store *store,
	const struct specimen *specimen, struct run_start *start)
{
	struct message why = {""};
	memset(start, 0, sizeof(*start));
	snprintf(start->press, sizeof(start->press), "%s", run->press);
	snprintf(start->method, sizeof(start->method), "%s", run->method);
	start->judged_by = method_find(run->method);
	start->has_specimen = true;
	start->specimen = *specimen;
	if (!method_plan(start->judged_by, specimen, &start->plan, &why))
		fail_msg("%s", why.text);
	start->plan.contact_un = 500 * UNITS_UN_PER_N;
	start->capacity_un = INT64_C(2000000) * UNITS_UN_PER_N;
	start->cell_count = 1;
	start->cells[0].scale = (struct scale){UNIT_KILONEWTON, {1, 0}, 0};
	snprintf(start->cells[0].name, sizeof(start->cells[0].name), "%s-1", run->press);
	snprintf(start->cells[0].device, sizeof(start->cells[0].device), "/dev/ttyS0");
	snprintf(start->cells[0].decoder, sizeof(start->cells[0].decoder), "plain");
	start->started = synthetic_time(run->started_days);
	start->origin.ns = ORIGIN_NS;
	snprintf(start->boot_id, sizeof(start->boot_id), "0c9a7f5e-1111-4a4a-9b9b-000000000001");
	snprintf(start->program, sizeof(start->program), "ramplogd " RAMPLOG_VERSION);
	assert_int_equal(
		store_standing(store, run->press, start->started, &start->standing), STORE_OK);
}

/* Stress by small steps of time, from the rate that the valve gives and the specimen takes. */
static size_t load(const struct synthetic *run, double area_m2, struct reading *readings)
{
	struct random random = {run->seed * UINT64_C(7919)};
	double step_s = 1 / run->readings_s, stress = 0, changed_at = 0, broken_at = 0;
	size_t count = 0;
	for (; count < READINGS_MAX; count++) {
		double t = (double)count * step_s, rate = run->approach_mpa_s;
		if (stress >= run->anticipated_mpa / 2) {
			changed_at = changed_at > 0 ? changed_at : t;
			rate = run->rate_mpa_s *
			       (1 + run->overshoot * exp(-(t - changed_at) / changeover_s));
		}
		double used = stress / run->strength_mpa;
		if (used > softening)
			rate *= 1 - 0.85 * (used - softening) / (1 - softening);
		if (broken_at > 0 && t > broken_at + after_s)
			break;
		if (t > unloaded_s && broken_at <= 0)
			stress += rate * step_s;
		if (stress >= run->strength_mpa * 0.999 && broken_at <= 0)
			broken_at = t;
		double swing = run->hunting_mpa * sin(2 * M_PI * hunting_hz * t);
		double shown = broken_at > 0 ? stress * 0.06 : stress;
		double newton = (shown + (shown > 1 ? swing : 0)) * 1e6 * area_m2 +
				noise_n * random_normal(&random);
		readings[count] = (struct reading){
			.time = {ORIGIN_NS + (int64_t)llround(t * 1e9)},
			.value = {(int64_t)llround(newton / 10), -2},
			.unit = UNIT_KILONEWTON,
		};
	}
	return count;
}

struct judging {
	struct judge *judge;
	struct press_watch watch;
	struct sum sum;
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

static void judge_all(const struct run_start *start, const struct reading *readings, size_t count,
	struct outcome *outcome)
{
	struct judging live = {.judge = judge_create(READINGS_MAX)};
	const struct scale scale = start->cells[0].scale;
	assert_non_null(live.judge);
	sum_init(&live.sum, 1, &scale, start->capacity_un);
	judge_start(live.judge, &start->plan);
	press_watch_start(&live.watch, &start->watch, 1, &start->plan, &start->specimen);
	for (size_t i = 0; i < count; i++)
		sum_feed(&live.sum, 0, &readings[i], judge_one, &live);
	memset(outcome, 0, sizeof(*outcome));
	judge_finish(live.judge, &outcome->judgement);
	judge_destroy(live.judge);
	outcome_derive(outcome, start->judged_by, &start->specimen);
	press_watch_finish(&live.watch, outcome);
}

static void store_all(struct store *store, const struct synthetic *run,
	const struct run_start *start, const struct reading *readings, size_t count,
	int64_t *number)
{
	static struct outcome outcome;
	struct actor technician = {1000, ""};
	struct utc_time ended = {
		start->started.ns + readings[count - 1].time.ns - start->origin.ns};
	assert_int_equal(store_run_open(store, start, number), STORE_OK);
	for (size_t i = 0; i < count; i += BATCH) {
		size_t some = count - i < BATCH ? count - i : BATCH;
		assert_int_equal(
			store_readings_add(store, *number, 0, &readings[i], some), STORE_OK);
	}
	judge_all(start, readings, count, &outcome);
	assert_int_equal(store_run_close(store, *number, &outcome, ended), STORE_OK);
	if (!run->technician)
		return;
	snprintf(technician.name, sizeof(technician.name), "%s", run->technician);
	ended.ns += 60 * CLOCKS_NS_PER_S;
	assert_int_equal(store_fracture_crack_add(store, *number, run->fracture,
				 llround(run->crack_mm * 1000), run->note, &technician, ended),
		STORE_OK);
}

int64_t synthetic_add(struct store *store, const struct synthetic *run)
{
	const struct actor mara = {1000, "mara"};
	struct utc_time before = synthetic_time(run->started_days - 0.01);
	struct reading *readings = calloc(READINGS_MAX, sizeof(*readings));
	struct specimen specimen;
	struct run_start start;
	int64_t number = 0;
	assert_non_null(readings);
	fill_specimen(run, &specimen);
	fill_start(run, store, &specimen, &start);
	size_t count = load(run, method_area_m2(start.judged_by, &specimen), readings);
	assert_int_equal(store_begin(store), STORE_OK);
	assert_int_equal(store_specimen_add(store, &specimen, &mara, before), STORE_OK);
	if (run->detail)
		assert_int_equal(
			store_detail_add(store, specimen.id, run->detail, "", &mara, before),
			STORE_OK);
	assert_int_equal(store_seat(store, run->press, specimen.id, &mara, before), STORE_OK);
	store_all(store, run, &start, readings, count, &number);
	assert_int_equal(store_commit(store), STORE_OK);
	free(readings);
	return number;
}

void synthetic_verify(struct store *store, const char *press)
{
	const struct actor ines = {1001, "ines"};
	struct utc_time at = synthetic_time(-10);
	struct verification verification = {.verified = at,
		.certificate = "LR7-31",
		.reference = "load ring LR7, certificate 31",
		.capacity_un = INT64_C(2000000) * UNITS_UN_PER_N,
		.increment_un = 10 * UNITS_UN_PER_N,
		.resolution_un = 10 * UNITS_UN_PER_N,
		.force_count = 5,
		.low_un = INT64_C(200000) * UNITS_UN_PER_N,
		.high_un = INT64_C(2000000) * UNITS_UN_PER_N};
	snprintf(verification.press, sizeof(verification.press), "%s", press);
	for (size_t i = 0; i < 5; i++)
		verification.forces[i] = (struct verification_force){.error_percent = {0.2, 0.1}};
	verification_judge(&verification);
	assert_int_equal(store_begin(store), STORE_OK);
	assert_int_equal(store_verification_add(store, &verification, &ines, at), STORE_OK);
	assert_int_equal(store_commit(store), STORE_OK);
}
