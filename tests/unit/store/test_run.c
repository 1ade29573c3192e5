/* SPDX-License-Identifier: MIT
 *
 * A run comes back bit for bit: its plan, its readings, its outcome. Closed, it takes nothing more.
 */
#include "result/methods.h"
#include "store/chunk.h"
#include "store/sql.h"
#include "unit/check.h"
#include "unit/random.h"
#include "unit/store/fixture.h"

#include <string.h>

static void test_the_plan_comes_back(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	const struct policy_entry *entries = policy_table();
	struct run_record record;
	struct run_start start;
	int64_t run;

	fixture_start(&start, "north", NULL, 3);
	start.plan.rate_unit_pa = UNITS_PASCAL_PER_PSI;
	start.plan.band_low = 1.0 / 3;
	start.plan.anticipated_load_un = 7;
	start.plan.basis_anticipated = true;
	for (size_t i = 0; entries[i].name; i++)
		*(double *)((char *)&start.plan.policy + entries[i].offset) = 1.0 / (double)(i + 3);
	start.watch = (struct press_watch_plan){.zero_limit_un = 1,
		.drift_limit_un = 2,
		.has_zero_before = true,
		.zero_before_un = -3,
		.thrust_limit_um = 4,
		.thrust_least_un = 5,
		.block = {6, true},
		.place_count = 3,
		.places = {{1, -1}, {2, -2}, {3, -3}}};
	start.standing = (struct standing){STANDING_VOID, 7, {8}, {9}, 10, 11, "doubt: low"};
	start.cells[2].scale = (struct scale){UNIT_NONE, {-123456789012345678, -18}, -5};
	fixture_begin(store);
	assert_int_equal(store_run_open(store, &start, &run), STORE_OK);
	fixture_commit(store);
	assert_int_equal(run, 1);
	assert_int_equal(store_run_load(store, run, &record), STORE_OK);
	assert_memory_equal(&record.start.plan, &start.plan, sizeof(start.plan));
	assert_memory_equal(&record.start, &start, sizeof(start));
	assert_false(record.row.closed);
	assert_int_equal(store_run_load(store, 2, &record), STORE_NONE);
	store_close(store);
}

static void assert_rate(const struct rate *found, const struct rate *rate)
{
	assert_int_equal(found->verdict, rate->verdict);
	assert_string_equal(found->reason, rate->reason);
	assert_memory_equal(&found->band_low_pa_s, &rate->band_low_pa_s, sizeof(double));
	assert_memory_equal(&found->band_high_pa_s, &rate->band_high_pa_s, sizeof(double));
	assert_int_equal(found->from.ns, rate->from.ns);
	assert_int_equal(found->to.ns, rate->to.ns);
	assert_memory_equal(&found->mean_pa_s, &rate->mean_pa_s, sizeof(double));
	assert_memory_equal(&found->lowest_pa_s, &rate->lowest_pa_s, sizeof(double));
	assert_memory_equal(&found->highest_pa_s, &rate->highest_pa_s, sizeof(double));
	assert_int_equal(found->window_ns, rate->window_ns);
	assert_memory_equal(&found->uncertainty_pa_s, &rate->uncertainty_pa_s, sizeof(double));
	assert_int_equal(found->outside_ns, rate->outside_ns);
	assert_int_equal(found->worst.ns, rate->worst.ns);
}

static void assert_outcome(const struct outcome *found, const struct outcome *outcome)
{
	const struct judgement *one = &found->judgement, *other = &outcome->judgement;

	assert_ptr_equal(found->method, outcome->method);
	assert_memory_equal(&found->area_m2, &outcome->area_m2, sizeof(double));
	assert_memory_equal(&found->correction, &outcome->correction, sizeof(double));
	assert_memory_equal(&found->strength_pa, &outcome->strength_pa, sizeof(double));
	assert_string_equal(found->strength_reported, outcome->strength_reported);
	assert_int_equal(one->end, other->end);
	assert_int_equal(one->maximum_un, other->maximum_un);
	assert_int_equal(one->maximum_at.ns, other->maximum_at.ns);
	assert_int_equal(one->basis, other->basis);
	assert_rate(&one->rate, &other->rate);
	assert_rate(&one->rate_other, &other->rate_other);
	assert_int_equal(one->event_total, other->event_total);
	assert_int_equal(one->event_count, other->event_count);
	for (size_t i = 0; i < one->event_count; i++) {
		assert_int_equal(one->events[i].kind, other->events[i].kind);
		assert_int_equal(one->events[i].time.ns, other->events[i].time.ns);
		assert_int_equal(one->events[i].load_un, other->events[i].load_un);
		assert_string_equal(one->events[i].text, other->events[i].text);
	}
}

static void test_the_outcome_comes_back(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	struct run_record record;
	struct outcome outcome;
	int64_t run = fixture_run(store, "north", "A-1", 1, 0.25, &outcome);

	assert_int_equal(store_run_load(store, run, &record), STORE_OK);
	assert_true(record.row.closed);
	assert_string_equal(record.row.specimen, "A-1");
	assert_string_equal(record.row.set, "set-A");
	assert_int_equal(record.row.end, END_BROKEN);
	assert_int_equal(record.row.verdict, VERDICT_IN_BAND);
	assert_int_equal(record.row.maximum_un, outcome.judgement.maximum_un);
	assert_int_equal(record.row.reading_count, 1600);
	assert_true(record.ended.ns > record.start.started.ns);
	assert_outcome(&record.outcome, &outcome);
	store_close(store);
}

static void test_an_invented_outcome_comes_back(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	struct outcome outcome = {.method = method_find("astm-c39"), .area_m2 = 1.0 / 3};
	struct judgement *judgement = &outcome.judgement;
	struct run_record record;
	int64_t run = fixture_run_open(store, "north", NULL);

	judgement->end = END_INTERRUPTED;
	judgement->basis = BASIS_ANTICIPATED;
	judgement->rate.verdict = VERDICT_UNDETERMINED;
	judgement->rate.lowest_pa_s = -0.0; /* comes back as 0, which is equal */
	judgement->rate.highest_pa_s = 5e-324;
	judgement->rate_other.mean_pa_s = 1.7976931348623157e308;
	judgement->rate_other.worst.ns = INT64_MIN;
	judgement->event_count = JUDGE_EVENTS_MAX;
	judgement->event_total = 1000000;
	for (size_t i = 0; i < JUDGE_EVENTS_MAX; i++) {
		judgement->events[i] =
			(struct event){(enum event_kind)(i % 13), {-(int64_t)i}, 1, ""};
		memset(judgement->events[i].text, 'x', EVENT_TEXT_SIZE - 1);
	}
	memset(judgement->rate.reason, '"', RATE_REASON_SIZE - 1);
	fixture_begin(store);
	assert_int_equal(store_run_close(store, run, &outcome, (struct utc_time){9}), STORE_OK);
	fixture_commit(store);
	assert_int_equal(store_run_load(store, run, &record), STORE_OK);
	judgement->rate.lowest_pa_s = 0;
	assert_outcome(&record.outcome, &outcome);
	assert_int_equal(record.ended.ns, 9);
	store_close(store);
}

struct collected {
	size_t count;
	int64_t last_ns;
	bool stop_early;
};

static bool collect(void *context, size_t cell, const struct reading *reading)
{
	struct collected *collected = context;

	assert_int_equal(cell, 0);
	assert_true(reading->time.ns > collected->last_ns);
	assert_int_equal(reading->value.exponent, -2);
	assert_int_equal(reading->unit, UNIT_KILONEWTON);
	assert_int_equal(reading->status, READING_MOTION);
	collected->last_ns = reading->time.ns;
	return ++collected->count < 70 || !collected->stop_early;
}

static void test_readings_come_back(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	struct collected all = {0}, some = {.stop_early = true};
	int64_t run = fixture_run(store, "north", NULL, 1, 0.25, NULL);

	assert_int_equal(store_readings_each(store, run, collect, &all), STORE_OK);
	assert_int_equal(all.count, 1600);
	assert_int_equal(store_readings_each(store, run, collect, &some), STORE_OK);
	assert_int_equal(some.count, 70);
	store_close(store);
}

static void test_a_closed_run_takes_nothing_more(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	struct reading reading = {.unit = UNIT_NEWTON};
	struct outcome outcome;
	int64_t run = fixture_run(store, "north", NULL, 1, 0.25, &outcome);

	fixture_begin(store);
	assert_int_equal(store_readings_add(store, run, 0, &reading, 1), STORE_REFUSED);
	assert_non_null(strstr(store_error(store), "closed"));
	assert_int_equal(
		store_run_close(store, run, &outcome, (struct utc_time){1}), STORE_REFUSED);
	assert_int_equal(store_readings_add(store, run + 1, 0, &reading, 1), STORE_REFUSED);
	store_rollback(store);
	int64_t open = fixture_run_open(store, "north", NULL);
	fixture_begin(store);
	assert_int_equal(store_readings_add(store, open, 1, &reading, 1), STORE_REFUSED);
	store_rollback(store);
	store_close(store);
}

static void test_unclosed_runs_are_found(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	int64_t runs[2];
	size_t count = 9;

	assert_int_equal(store_runs_unclosed(store, runs, 2, &count), STORE_OK);
	assert_int_equal(count, 0);
	fixture_run(store, "north", NULL, 1, 0.5, NULL);
	int64_t lost = fixture_run_unclosed(store, "south");
	fixture_run(store, "north", NULL, 1, 0.5, NULL);
	int64_t open = fixture_run_open(store, "north", NULL);
	fixture_run_open(store, "west", NULL);
	assert_int_equal(store_runs_unclosed(store, runs, 2, &count), STORE_OK);
	assert_int_equal(count, 3);
	assert_int_equal(runs[0], lost);
	assert_int_equal(runs[1], open);
	store_close(store);
}

/* A row of a little more than half a page would leave the other half empty. */
static void test_large_batches_are_cut(void **state)
{
	enum { COUNT = 300 };
	static struct reading readings[COUNT];
	struct store *store = fixture_open(*state, STORE_WRITE);
	int64_t run = fixture_run_open(store, "north", NULL), rows = 0, longest = 0, all = 0;
	struct random random = {1};

	for (int64_t i = 0; i < COUNT; i++)
		readings[i] = (struct reading){.time = {i * CLOCKS_NS_PER_MS},
			.value = {(int64_t)(random_bits(&random) >> 46), -2},
			.unit = UNIT_KILONEWTON};
	fixture_begin(store);
	assert_int_equal(store_readings_add(store, run, 0, readings, COUNT), STORE_OK);
	fixture_commit(store);
	assert_int_equal(sql_integer(store, "SELECT count(*) FROM chunk", &rows), STORE_OK);
	assert_int_equal(
		sql_integer(store, "SELECT max(length(readings)) FROM chunk", &longest), STORE_OK);
	assert_int_equal(
		sql_integer(store, "SELECT sum(length(readings)) FROM chunk", &all), STORE_OK);
	/* More than one row of the right size, less than two; two equal ones. */
	assert_in_range(all, CHUNK_SIZE_GOOD + 1, 2 * CHUNK_SIZE_GOOD);
	assert_int_equal(rows, 2);
	assert_in_range(longest, all / 2, all / 2 + 30);
	store_close(store);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		FIXTURE_TEST(test_the_plan_comes_back),
		FIXTURE_TEST(test_the_outcome_comes_back),
		FIXTURE_TEST(test_an_invented_outcome_comes_back),
		FIXTURE_TEST(test_readings_come_back),
		FIXTURE_TEST(test_a_closed_run_takes_nothing_more),
		FIXTURE_TEST(test_unclosed_runs_are_found),
		FIXTURE_TEST(test_large_batches_are_cut),
	};

	return cmocka_run_group_tests_name("run", tests, NULL, NULL);
}
