/* SPDX-License-Identifier: MIT
 *
 * What is kept comes back bit for bit, what must not be changed cannot be, and lists are answered
 * by indexes.
 */
#include "result/methods.h"
#include "store/replay.h"
#include "store/sql.h"
#include "unit/check.h"
#include "unit/store/fixture.h"

#include <sqlite3.h>
#include <stdio.h>
#include <string.h>

static void begin(struct store *store)
{
	assert_int_equal(store_begin(store), STORE_OK);
}

static void commit(struct store *store)
{
	assert_int_equal(store_commit(store), STORE_OK);
}

static void register_specimen(struct store *store, const char *id)
{
	struct specimen specimen;

	fixture_specimen(&specimen, id);
	begin(store);
	assert_int_equal(store_specimen_add(store, &specimen, &fixture_actor, (struct utc_time){5}),
		STORE_OK);
	commit(store);
}

static void seat(struct store *store, const char *press, const char *id)
{
	begin(store);
	assert_int_equal(
		store_seat(store, press, id, &fixture_actor, (struct utc_time){6}), STORE_OK);
	commit(store);
}

static int64_t open_run(struct store *store, const char *press, const struct specimen *specimen)
{
	struct run_start start;
	int64_t run = 0;

	fixture_start(&start, press, specimen, 1);
	begin(store);
	assert_int_equal(store_run_open(store, &start, &run), STORE_OK);
	commit(store);
	return run;
}

static void test_specimen_comes_back(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	struct specimen specimen, found;

	memset(&found, 0xff, sizeof(found));
	fixture_specimen(&specimen, "A-1");
	specimen.shape = SHAPE_CUBE;
	specimen.anticipated_pa = 0.1 + 0.2;
	specimen.chosen_rate_pa_s = 1e6 / 3;
	begin(store);
	assert_int_equal(store_specimen_add(store, &specimen, &fixture_actor, (struct utc_time){5}),
		STORE_OK);
	commit(store);
	assert_int_equal(store_specimen_find(store, "A-1", &found), STORE_OK);
	assert_string_equal(found.id, "A-1");
	assert_string_equal(found.set, specimen.set);
	assert_string_equal(found.method, specimen.method);
	assert_int_equal(found.shape, SHAPE_CUBE);
	assert_int_equal(found.width_um[0], 100000);
	assert_int_equal(found.width_um[1], 100250);
	assert_int_equal(found.length_um, 200500);
	assert_int_equal(found.cast.ns, specimen.cast.ns);
	assert_memory_equal(&found.anticipated_pa, &specimen.anticipated_pa, sizeof(double));
	assert_memory_equal(&found.chosen_rate_pa_s, &specimen.chosen_rate_pa_s, sizeof(double));
	assert_int_equal(store_specimen_find(store, "A-2", &found), STORE_NONE);
	store_close(store);
}

static void test_a_name_is_given_once(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	struct specimen specimen;

	register_specimen(store, "A-1");
	fixture_specimen(&specimen, "A-1");
	begin(store);
	assert_int_equal(store_specimen_add(store, &specimen, &fixture_actor, (struct utc_time){5}),
		STORE_REFUSED);
	assert_non_null(strstr(store_error(store), "A-1"));
	store_rollback(store);
	store_close(store);
}

static void test_what_is_not_committed_is_gone(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	struct specimen specimen;

	fixture_specimen(&specimen, "A-1");
	begin(store);
	assert_int_equal(store_specimen_add(store, &specimen, &fixture_actor, (struct utc_time){5}),
		STORE_OK);
	store_rollback(store);
	assert_int_equal(store_specimen_find(store, "A-1", &specimen), STORE_NONE);
	store_close(store);
}

static void assert_seated(struct store *store, const char *press, const char *id)
{
	struct specimen specimen;
	enum store_status status = store_seated(store, press, &specimen);

	assert_int_equal(status, id ? STORE_OK : STORE_NONE);
	if (id)
		assert_string_equal(specimen.id, id);
}

static void test_a_run_takes_what_is_seated(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	struct specimen specimen;

	register_specimen(store, "A-1");
	register_specimen(store, "A-2");
	assert_seated(store, "north", NULL);
	seat(store, "north", "A-1");
	assert_seated(store, "north", "A-1");
	assert_seated(store, "south", NULL);
	seat(store, "north", "A-2");
	assert_seated(store, "north", "A-2");
	assert_int_equal(store_specimen_find(store, "A-2", &specimen), STORE_OK);
	open_run(store, "south", &specimen);
	assert_seated(store, "north", "A-2");
	open_run(store, "north", &specimen);
	/* The seat of A-1 was replaced; it does not come back. */
	assert_seated(store, "north", NULL);
	seat(store, "north", "A-1");
	open_run(store, "north", NULL);
	assert_seated(store, "north", "A-1");
	begin(store);
	assert_int_equal(store_seat(store, "north", "A-9", &fixture_actor, (struct utc_time){6}),
		STORE_NONE);
	assert_non_null(strstr(store_error(store), "register it first"));
	store_rollback(store);
	store_close(store);
}

static void complain(void *context, const char *text)
{
	(void)context;
	fail_msg("%s", text);
}

/* The laboratory's file changes; the run is still derived with what was in it on its day. */
static void test_a_run_keeps_its_method(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	struct method_confirmation confirmation;
	const struct method *before = method_find("astm-c39");
	char text[METHOD_TEXT_SIZE];
	struct run_record record;
	struct replay replay;

	int64_t run = fixture_run(store, "north", "A-1", 1, 0.25, NULL);
	begin(store);
	assert_int_equal(store_method_confirm(store, before, "2021", "pages 1 to 9", &fixture_actor,
				 (struct utc_time){5}),
		STORE_OK);
	assert_int_equal(
		store_method_confirm(store, before, "", "", &fixture_actor, (struct utc_time){5}),
		STORE_REFUSED);
	commit(store);
	strcpy(text, before->text);
	memcpy(strstr(text, "report = 0.1"), "report = 0.5", 12);
	memcpy(strstr(text, "0.20 to 0.30"), "0.10 to 0.15", 12);
	assert_true(methods_add(text, strlen(text), "/lab/astm-c39.ini", complain, NULL));
	assert_int_equal(store_run_load(store, run, &record), STORE_OK);
	assert_ptr_not_equal(record.start.judged_by, method_find("astm-c39"));
	assert_string_equal(record.start.judged_by->text, before->text);
	assert_int_equal(replay_run(store, &record, &replay), STORE_OK);
	assert_string_equal(replay.outcome.strength_reported, record.outcome.strength_reported);
	replay_finish(&replay);
	/* what was confirmed is the text, not the name */
	assert_int_equal(store_method_confirmed(store, before, &confirmation), STORE_OK);
	assert_string_equal(confirmation.edition, "2021");
	assert_string_equal(confirmation.by.name, fixture_actor.name);
	assert_int_equal(
		store_method_confirmed(store, method_find("astm-c39"), &confirmation), STORE_NONE);
	assert_true(methods_add(
		before->text, strlen(before->text), "/lab/astm-c39.ini", complain, NULL));
	store_close(store);
}

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
	begin(store);
	assert_int_equal(store_run_open(store, &start, &run), STORE_OK);
	commit(store);
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
	int64_t run = open_run(store, "north", NULL);

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
	begin(store);
	assert_int_equal(store_run_close(store, run, &outcome, (struct utc_time){9}), STORE_OK);
	commit(store);
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

	begin(store);
	assert_int_equal(store_readings_add(store, run, 0, &reading, 1), STORE_REFUSED);
	assert_non_null(strstr(store_error(store), "closed"));
	assert_int_equal(
		store_run_close(store, run, &outcome, (struct utc_time){1}), STORE_REFUSED);
	assert_int_equal(store_readings_add(store, run + 1, 0, &reading, 1), STORE_REFUSED);
	store_rollback(store);
	int64_t open = open_run(store, "north", NULL);
	begin(store);
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
	int64_t open = open_run(store, "north", NULL);
	open_run(store, "west", NULL);
	assert_int_equal(store_runs_unclosed(store, runs, 2, &count), STORE_OK);
	assert_int_equal(count, 3);
	assert_int_equal(runs[0], lost);
	assert_int_equal(runs[1], open);
	store_close(store);
}

struct entries {
	size_t count;
	struct fracture_row rows[4];
};

static bool take_entry(void *context, const struct fracture_row *row)
{
	struct entries *entries = context;

	entries->rows[entries->count++] = *row;
	return entries->count < 2;
}

static void test_fractures_add_up(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	struct run_record record;
	int64_t run = fixture_run(store, "north", NULL, 1, 0.5, NULL);
	int64_t open = open_run(store, "north", NULL);
	const struct utc_time now = {77};

	begin(store);
	assert_int_equal(store_fracture_add(store, run, 7, "", &fixture_actor, now), STORE_REFUSED);
	assert_int_equal(store_fracture_add(store, 9, 3, "", &fixture_actor, now), STORE_NONE);
	assert_int_equal(
		store_fracture_add(store, open, 3, "", &fixture_actor, now), STORE_REFUSED);
	assert_int_equal(store_fracture_add(store, run, 3, "", &fixture_actor, now), STORE_OK);
	assert_int_equal(store_fracture_add(store, run, 5, "side, at the cap", &fixture_actor, now),
		STORE_OK);
	commit(store);
	assert_int_equal(store_run_load(store, run, &record), STORE_OK);
	assert_int_equal(record.row.fracture, 5);
	assert_int_equal(record.fracture.type, 5);
	assert_string_equal(record.fracture.note, "side, at the cap");
	assert_int_equal(record.fracture.by.uid, 1000);
	assert_string_equal(record.fracture.by.name, "mara");
	assert_int_equal(record.fracture.at.ns, 77);
	/* The corrected entry stays. */
	struct entries entries = {.count = 0};
	assert_int_equal(store_fractures_each(store, run, take_entry, &entries), STORE_OK);
	assert_int_equal(entries.count, 2);
	assert_int_equal(entries.rows[0].type, 3);
	assert_string_equal(entries.rows[0].note, "");
	assert_int_equal(entries.rows[1].type, 5);
	store_close(store);
}

struct listed {
	char text[120];
};

static bool list_row(void *context, const struct run_row *row)
{
	struct listed *listed = context;
	size_t length = strlen(listed->text);

	snprintf(listed->text + length, sizeof(listed->text) - length, "%d ", (int)row->run);
	return true;
}

static void assert_list(struct store *store, const struct run_filter *filter, const char *runs)
{
	struct listed listed = {""};

	assert_int_equal(store_runs_each(store, filter, list_row, &listed), STORE_OK);
	assert_string_equal(listed.text, runs);
}

struct rates {
	struct store *store;
	int64_t run;
};

/* As the whole run has it. */
static bool compare_rate(void *context, const struct rate_row *row)
{
	static struct run_record record;
	const struct rate *rate = &record.outcome.judgement.rate;
	struct rates *rates = context;

	assert_int_equal(store_run_load(rates->store, ++rates->run, &record), STORE_OK);
	assert_string_equal(row->press, record.row.press);
	assert_string_equal(row->set, record.row.set);
	assert_string_equal(row->technician, record.fracture.by.name);
	assert_int_equal(row->started.ns, record.start.started.ns);
	assert_int_equal(row->voided, record.row.voided);
	assert_int_equal(row->end, record.outcome.judgement.end);
	assert_true(row->strength_pa == record.outcome.strength_pa);
	assert_int_equal(row->verdict, rate->verdict);
	assert_true(row->band_low_pa_s == rate->band_low_pa_s);
	assert_true(row->band_high_pa_s == rate->band_high_pa_s);
	assert_true(row->mean_pa_s == rate->mean_pa_s);
	assert_true(row->lowest_pa_s == rate->lowest_pa_s);
	assert_true(row->highest_pa_s == rate->highest_pa_s);
	assert_int_equal(row->window_ns, rate->window_ns);
	return true;
}

static void test_rates(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	struct rates rates = {.store = store};

	fixture_run(store, "north", "A-1", 1, 0.25, NULL);
	fixture_run(store, "south", NULL, 1, 0.5, NULL);
	fixture_run(store, "north", "B-1", 1, 0.25, NULL);
	open_run(store, "north", NULL);
	begin(store);
	assert_int_equal(store_fracture_add(store, 1, 3, "", &fixture_actor, (struct utc_time){1}),
		STORE_OK);
	assert_int_equal(
		store_run_void(store, 3, true, "spilt", &fixture_actor, (struct utc_time){1}),
		STORE_OK);
	commit(store);
	assert_int_equal(
		store_rates_each(store, &(struct run_filter){.limit = 0}, compare_rate, &rates),
		STORE_OK);
	assert_int_equal(rates.run, 3);
	rates.run = 1;
	assert_int_equal(store_rates_each(store, &(struct run_filter){.press = "south"},
				 compare_rate, &rates),
		STORE_OK);
	assert_int_equal(rates.run, 2);
	store_close(store);
}

static void test_lists(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	struct run_record second;

	fixture_run(store, "north", "A-1", 1, 0.25, NULL);
	fixture_run(store, "south", "B-1", 1, 0.5, NULL);
	fixture_run(store, "north", "A-2", 1, 0.25, NULL);
	open_run(store, "north", NULL);
	assert_int_equal(store_run_load(store, 2, &second), STORE_OK);
	int64_t then = second.start.started.ns;

	assert_list(store, &(struct run_filter){.limit = 0}, "1 2 3 4 ");
	assert_list(store, &(struct run_filter){.newest_first = true, .limit = 2}, "4 3 ");
	assert_list(store, &(struct run_filter){.press = "north"}, "1 3 4 ");
	assert_list(store, &(struct run_filter){.specimen = "A-2"}, "3 ");
	assert_list(store, &(struct run_filter){.set = "set-A"}, "1 3 ");
	assert_list(store, &(struct run_filter){.verdict = VERDICT_IN_BAND}, "1 3 ");
	assert_list(store, &(struct run_filter){.verdict = VERDICT_OUT_OF_BAND}, "2 ");
	assert_list(store, &(struct run_filter){.after_run = 2}, "3 4 ");
	assert_list(store, &(struct run_filter){.from = {then + 1}, .press = "north", .limit = 1},
		"3 ");
	assert_list(store, &(struct run_filter){.from = {then}, .before = {then + 1}}, "2 ");
	assert_list(store, &(struct run_filter){.press = "east"}, "");
	/* A corrected run is found by what it was and by what it is. */
	begin(store);
	assert_int_equal(
		store_run_assign(store, 2, "A-1", "mixed up", &fixture_actor, (struct utc_time){1}),
		STORE_OK);
	commit(store);
	assert_list(store, &(struct run_filter){.specimen = "A-1"}, "1 2 ");
	assert_list(store, &(struct run_filter){.specimen = "B-1"}, "2 ");
	assert_list(store, &(struct run_filter){.set = "set-A", .newest_first = true, .limit = 2},
		"3 2 ");
	assert_list(store, &(struct run_filter){.set = "set-B", .specimen = "A-1"}, "2 ");
	assert_int_equal(store_run_load(store, 2, &second), STORE_OK);
	assert_string_equal(second.row.specimen, "B-1");
	assert_string_equal(second.row.specimen_corrected, "A-1");
	assert_string_equal(second.row.set_corrected, "set-A");
	store_close(store);
}

static bool ignore_row(void *context, const struct run_row *row)
{
	(void)context;
	(void)row;
	return true;
}

/* What SQLite says it will do: SEARCH is an index, SCAN walks a whole table. */
static void check_plan(struct store *store, const char *sql)
{
	char *explain = sqlite3_mprintf("EXPLAIN QUERY PLAN %s", sql);
	sqlite3_stmt *plan;

	assert_int_equal(sqlite3_prepare_v2(store->db, explain, -1, &plan, NULL), SQLITE_OK);
	while (sqlite3_step(plan) == SQLITE_ROW) {
		const char *detail = (const char *)sqlite3_column_text(plan, 3);
		/* Along an index, in order, as far as the limit. */
		bool along = strstr(detail, "USING INDEX") || strcmp(detail, "SCAN run") == 0 ||
			     strstr(sql, "FROM sqlite_schema");
		if (strncmp(detail, "SCAN ", 5) == 0 && !along)
			fail_msg("%s: %s", detail, sql);
	}
	sqlite3_finalize(plan);
	sqlite3_free(explain);
}

static int check_counts(struct store *store, const char *part)
{
	int found = 0;

	for (size_t i = 0; i < store->cache_count; i++) {
		sqlite3_stmt *statement = store->cache[i].statement;
		const char *sql = sqlite3_sql(statement);
		if (!strstr(sql, part))
			continue;
		int scanned = sqlite3_stmt_status(statement, SQLITE_STMTSTATUS_FULLSCAN_STEP, 0);
		int sorted = sqlite3_stmt_status(statement, SQLITE_STMTSTATUS_SORT, 0);
		/* Of one specimen or one set there are few runs: they may be sorted. */
		bool few = strstr(sql, "run.run IN") != NULL;
		if (scanned > 6 || (sorted > 0 && !few))
			fail_msg("%d rows scanned, %d sorts: %s", scanned, sorted, sql);
		check_plan(store, sql);
		found++;
	}
	return found;
}

static bool ignore_reading(void *context, size_t cell, const struct reading *reading)
{
	(void)context;
	(void)cell;
	(void)reading;
	return true;
}

/* With a million runs a scan or a sort is what makes a list slow; SQLite counts both, and says
 * beforehand what it will do. */
static void test_lists_are_answered_by_indexes(void **state)
{
	const struct run_filter filters[] = {
		{.newest_first = true, .limit = 1},
		{.press = "north", .newest_first = true},
		{.specimen = "A-1"},
		{.set = "set-A", .newest_first = true, .limit = 5},
		{.set = "set-A", .press = "north", .verdict = VERDICT_IN_BAND},
		{.verdict = VERDICT_IN_BAND, .newest_first = true},
		{.after_run = 15, .limit = 5},
		{.sort = SORT_STARTED, .newest_first = true, .limit = 5},
		{.sort = SORT_STARTED, .from = {1}, .before = {2}},
		{.sort = SORT_MAXIMUM, .newest_first = true, .limit = 5},
		{.sort = SORT_STRENGTH, .newest_first = true, .limit = 5},
	};
	struct store *store = fixture_open(*state, STORE_WRITE);
	struct run_record record;

	fixture_run(store, "north", "A-1", 1, 0.5, NULL);
	for (int i = 0; i < 20; i++)
		open_run(store, "south", NULL);
	store_close(store);
	store = fixture_open(*state, STORE_READ);
	for (size_t i = 0; i < sizeof(filters) / sizeof(filters[0]); i++)
		assert_int_equal(store_runs_each(store, &filters[i], ignore_row, NULL), STORE_OK);
	assert_int_equal(check_counts(store, " LIMIT ?"), sizeof(filters) / sizeof(filters[0]));
	assert_int_equal(store_run_load(store, 1, &record), STORE_OK);
	assert_int_equal(store_readings_each(store, 1, ignore_reading, NULL), STORE_OK);
	assert_true(check_counts(store, "") > 20);
	store_close(store);
}

/* Another connection, as any program would open it; nothing switched on that SQLite leaves off. */
static sqlite3 *plain_connection(const char *path)
{
	sqlite3 *db;

	assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
	return db;
}

static void refused(sqlite3 *db, const char *format, const char *table)
{
	char statement[400];
	char *error = NULL;

	snprintf(statement, sizeof(statement), format, table);
	if (sqlite3_exec(db, statement, NULL, NULL, &error) != SQLITE_CONSTRAINT)
		fail_msg("%s: not refused", statement);
	assert_non_null(strstr(error, table));
	sqlite3_free(error);
}

static int64_t count_rows(sqlite3 *db, const char *table)
{
	sqlite3_stmt *rows;
	char text[100];

	snprintf(text, sizeof(text), "SELECT count(*) FROM %s", table);
	assert_int_equal(sqlite3_prepare_v2(db, text, -1, &rows, NULL), SQLITE_OK);
	assert_int_equal(sqlite3_step(rows), SQLITE_ROW);
	int64_t count = sqlite3_column_int64(rows, 0);
	sqlite3_finalize(rows);
	return count;
}

static void test_details_come_back(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	struct specimen specimen, found;
	struct detail detail, kept;
	struct detail_flags flags;
	int uses;

	fixture_specimen(&specimen, "A-1");
	detail_init(&detail);
	detail.ends = DETAIL_ENDS_UNBONDED;
	detail.pad_hardness = 60;
	detail.mass_mg = 3700001;
	detail.intended_age_ns = INT64_C(28) * 24 * 3600 * CLOCKS_NS_PER_S;
	strcpy(detail.pad, "P 7");
	strcpy(detail.lot, "steel 3");
	detail.width_count = 3;
	detail.widths_um[0] = 100000, detail.widths_um[1] = 100250, detail.widths_um[2] = 100500;
	detail.length_count = 2;
	detail.lengths_um[0] = 200000, detail.lengths_um[1] = 201000;
	begin(store);
	assert_int_equal(store_register(store, &specimen, &detail, "", &fixture_actor,
				 (struct utc_time){1}, &flags),
		STORE_OK);
	assert_int_equal(store_register(store, &specimen, &detail, "", &fixture_actor,
				 (struct utc_time){1}, &flags),
		STORE_REFUSED);
	assert_non_null(strstr(store_error(store), "registered already"));
	commit(store);
	assert_int_equal(store_detail_find(store, "A-1", &kept), STORE_OK);
	assert_memory_equal(&kept, &detail, sizeof(detail));

	/* corrected: the newest holds, and nothing else of the specimen needs to change */
	detail.mass_mg = 3800000;
	strcpy(detail.pad, "P 8");
	begin(store);
	assert_int_equal(store_register(store, &specimen, &detail, "weighed again", &fixture_actor,
				 (struct utc_time){2}, &flags),
		STORE_OK);
	commit(store);
	assert_int_equal(store_detail_find(store, "A-1", &kept), STORE_OK);
	assert_int_equal(kept.mass_mg, 3800000);
	/* of the specimen alone: its details stay */
	detail_init(&detail);
	specimen.length_um += 1000;
	begin(store);
	assert_int_equal(store_register(store, &specimen, &detail, "measured again", &fixture_actor,
				 (struct utc_time){3}, &flags),
		STORE_OK);
	commit(store);
	assert_int_equal(store_detail_find(store, "A-1", &kept), STORE_OK);
	assert_int_equal(kept.mass_mg, 3800000);
	assert_int_equal(store_specimen_find(store, "A-1", &found), STORE_OK);
	assert_int_equal(found.length_um, specimen.length_um);
	assert_int_equal(store_pad_uses(store, "P 8", &uses), STORE_OK);
	assert_int_equal(uses, 0);
	assert_int_equal(store_detail_find(store, "A-9", &kept), STORE_NONE);
	store_close(store);
}

/* What a method refuses never gets in, by whatever way it comes. */
static void test_registering_is_checked(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	struct specimen specimen;
	struct detail detail;
	struct detail_flags flags;

	fixture_specimen(&specimen, "A-1");
	detail_init(&detail);
	detail.out_of_square_udeg = 600000;
	begin(store);
	assert_int_equal(store_register(store, &specimen, &detail, "", &fixture_actor,
				 (struct utc_time){1}, &flags),
		STORE_REFUSED);
	assert_non_null(strstr(store_error(store), "out of square"));
	store_rollback(store);
	assert_int_equal(store_specimen_find(store, "A-1", &specimen), STORE_NONE);
	store_close(store);
}

static bool count_due(void *context, const struct due_row *row)
{
	size_t *count = context;

	assert_string_equal(row->specimen.id, "D-2");
	++*count;
	return true;
}

/* Tested ones are not due, whichever way the run came to count for them. */
static void test_what_is_due(void **state)
{
	static const char *const ids[] = {"D-1", "D-2", "D-3"};
	struct store *store = fixture_open(*state, STORE_WRITE);
	struct detail_flags flags;
	struct specimen specimen;
	struct detail detail;
	size_t count = 0;

	fixture_run(store, "north", NULL, 1, 0.25, NULL);
	detail_init(&detail);
	detail.intended_age_ns = INT64_C(7) * 24 * 3600 * CLOCKS_NS_PER_S;
	for (size_t i = 0; i < 3; i++) {
		fixture_specimen(&specimen, ids[i]);
		specimen.cast.ns = INT64_C(1772000000) * CLOCKS_NS_PER_S;
		begin(store);
		assert_int_equal(store_register(store, &specimen, &detail, "", &fixture_actor,
					 (struct utc_time){1}, &flags),
			STORE_OK);
		commit(store);
	}
	begin(store);
	assert_int_equal(store_run_assign(store, 1, "D-1", "was not seated", &fixture_actor,
				 (struct utc_time){2}),
		STORE_OK);
	specimen.cast.ns = 0; /* the hour of D-3 was wrong, and is not known */
	assert_int_equal(store_specimen_correct(store, &specimen, "not known", &fixture_actor,
				 (struct utc_time){2}),
		STORE_OK);
	commit(store);
	assert_int_equal(store_due_each(store, count_due, &count), STORE_OK);
	assert_int_equal(count, 1);
	store_close(store);
}

static bool count_sets(void *context, const struct set_terms *terms)
{
	size_t *count = context;

	assert_string_equal(terms->set, "quay-7");
	++*count;
	return true;
}

static void test_terms_of_a_set(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	struct set_terms terms = {"quay-7", "quay", ACCEPTANCE_EN_206_CONTINUOUS, 30e6, 3e6, true};
	struct set_terms other = {"pier-1", "quay", ACCEPTANCE_NONE, 0, 0, false}, found;
	size_t count = 0;

	assert_int_equal(store_terms_find(store, "quay-7", &found), STORE_NONE);
	assert_string_equal(found.set, "quay-7");
	begin(store);
	assert_int_equal(
		store_terms_add(store, &terms, &fixture_actor, (struct utc_time){1}), STORE_OK);
	assert_int_equal(
		store_terms_add(store, &other, &fixture_actor, (struct utc_time){1}), STORE_OK);
	strcpy(other.series, "pier"); /* was entered wrongly: the newest holds */
	assert_int_equal(
		store_terms_add(store, &other, &fixture_actor, (struct utc_time){2}), STORE_OK);
	commit(store);
	assert_int_equal(store_terms_find(store, "quay-7", &found), STORE_OK);
	assert_string_equal(found.series, "quay");
	assert_int_equal(found.rule, terms.rule);
	assert_true(found.specified_pa == 30e6 && found.sigma_pa == 3e6 && found.field);
	assert_int_equal(store_series_each(store, "quay", count_sets, &count), STORE_OK);
	assert_int_equal(count, 1);
	begin(store);
	terms.sigma_pa = 0;
	assert_int_equal(store_terms_add(store, &terms, &fixture_actor, (struct utc_time){3}),
		STORE_REFUSED);
	store_rollback(store);
	store_close(store);
}

/* A row in every table. */
static void fill_every_table(const char *path)
{
	struct verification verification = {
		.press = "north", .reference = "load ring", .force_count = 1};
	const struct zero_entry zero = {"north", "left", {UNIT_NEWTON, {1, 0}, 5}, 0};
	const struct loss loss = {"north", {1}, {2}, 3, 4, "the disk was full"};
	struct specimen specimen;
	struct store *store = fixture_open(path, STORE_WRITE);
	struct run_start start;
	int64_t run;

	fixture_run(store, "north", "A-1", 1, 0.6, NULL);
	begin(store);
	fixture_start(&start, "south", NULL, 3);
	start.watch.place_count = 3;
	assert_int_equal(store_run_open(store, &start, &run), STORE_OK);
	assert_int_equal(
		store_verification_add(store, &verification, &fixture_actor, (struct utc_time){1}),
		STORE_OK);
	assert_int_equal(store_upkeep_add(store, "north", UPKEEP_REPAIR, "", (struct utc_time){1},
				 &fixture_actor, (struct utc_time){1}),
		STORE_OK);
	assert_int_equal(
		store_zero_add(store, &zero, "", &fixture_actor, (struct utc_time){1}), STORE_OK);
	assert_int_equal(store_method_confirm(store, method_find("astm-c39"), "2021", "",
				 &fixture_actor, (struct utc_time){1}),
		STORE_OK);
	struct detail detail;
	detail_init(&detail);
	detail.width_count = 1;
	detail.widths_um[0] = 100000;
	assert_int_equal(
		store_detail_add(store, "A-1", &detail, "", &fixture_actor, (struct utc_time){1}),
		STORE_OK);
	const struct set_terms terms = {"pier-7d", "pier", ACCEPTANCE_ACI_318, 3e6, 0, true};
	assert_int_equal(
		store_terms_add(store, &terms, &fixture_actor, (struct utc_time){1}), STORE_OK);
	fixture_report(store, 1, 0);
	assert_int_equal(store_fracture_add(store, 1, 2, "", &fixture_actor, (struct utc_time){1}),
		STORE_OK);
	fixture_specimen(&specimen, "A-1");
	specimen.length_um += 10;
	assert_int_equal(store_specimen_correct(
				 store, &specimen, "why", &fixture_actor, (struct utc_time){1}),
		STORE_OK);
	assert_int_equal(store_loss_add(store, &loss), STORE_OK);
	commit(store);
	store_close(store);
}

static void test_rows_are_only_added(void **state)
{
	static const char *const tables[] = {"specimen", "seat", "policy", "policy_value", "run",
		"run_specimen", "run_cell", "chunk", "run_outcome", "run_rate", "run_event", "seal",
		"fracture", "verification", "verification_force", "upkeep", "zero", "run_press",
		"run_place", "run_thrust", "specimen_correction", "run_correction",
		"corrected_specimen", "corrected_outcome", "corrected_rate", "signing_key", "loss",
		"method_text", "run_method", "method_confirmation", "specimen_detail",
		"specimen_measure", "set_terms", "report", "report_run"};
	char text[100];

	fill_every_table(*state);
	sqlite3 *db = plain_connection(*state);
	/* None is forgotten here. */
	assert_int_equal(count_rows(db, "sqlite_schema WHERE type = 'table'"),
		sizeof(tables) / sizeof(tables[0]));
	for (size_t i = 0; i < sizeof(tables) / sizeof(tables[0]); i++) {
		if (count_rows(db, tables[i]) == 0)
			fail_msg("%s is empty, nothing was tried", tables[i]);
		refused(db, "DELETE FROM %s", tables[i]);
		snprintf(text, sizeof(text), "REPLACE INTO %s SELECT * FROM %%s", tables[i]);
		refused(db, text, tables[i]);
	}
	refused(db, "UPDATE %s SET length_um = length_um", "specimen");
	refused(db, "UPDATE %s SET strength_pa = 1", "run_outcome");
	refused(db, "UPDATE OR REPLACE %s SET verdict = 'in_band'", "run_rate");
	refused(db, "UPDATE %s SET readings = x'00'", "chunk");
	refused(db, "UPDATE %s SET hash = hash", "seal");
	assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

static void test_summary_is_plain_sql(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	sqlite3_stmt *rows;

	fixture_run(store, "north", "A-1", 1, 0.25, NULL);
	open_run(store, "north", NULL);
	store_close(store);
	sqlite3 *db = plain_connection(*state);
	assert_int_equal(sqlite3_prepare_v2(db,
				 "SELECT press, specimen, started, ending, verdict, fracture,"
				 " abs(maximum_n - 23600) < 100, abs(strength_mpa - 3) < 0.1"
				 " FROM run_summary ORDER BY run",
				 -1, &rows, NULL),
		SQLITE_OK);
	assert_int_equal(sqlite3_step(rows), SQLITE_ROW);
	assert_string_equal(sqlite3_column_text(rows, 0), "north");
	assert_string_equal(sqlite3_column_text(rows, 1), "A-1");
	assert_string_equal(sqlite3_column_text(rows, 2), "2026-02-25T06:14:20.000Z");
	assert_string_equal(sqlite3_column_text(rows, 3), "broken");
	assert_string_equal(sqlite3_column_text(rows, 4), "in_band");
	assert_int_equal(sqlite3_column_type(rows, 5), SQLITE_NULL);
	assert_int_equal(sqlite3_column_int(rows, 6), 1);
	assert_int_equal(sqlite3_column_int(rows, 7), 1);
	assert_int_equal(sqlite3_step(rows), SQLITE_ROW);
	assert_int_equal(sqlite3_column_type(rows, 3), SQLITE_NULL);
	assert_int_equal(sqlite3_step(rows), SQLITE_DONE);
	sqlite3_finalize(rows);
	assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

static bool count_report(void *context, const struct issued_row *row)
{
	size_t *count = context;

	++*count;
	assert_int_equal(row->issued.number, *count);
	assert_int_equal(row->replaced_by, *count == 1 ? 2 : 0);
	return true;
}

static void test_reports_replace_one_another(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	struct issued issued = {.number = 2, .subject = "x", .run_count = 1, .runs = {1}};
	struct issued_row row;
	int64_t next = 0;
	size_t count = 0;

	fixture_run(store, "north", "a-1", 1, 0.6, NULL);
	begin(store);
	/* Not the next one; and one that replaces what is not there. */
	assert_int_equal(
		store_report_add(store, &issued, &fixture_actor, issued.at), STORE_REFUSED);
	issued.number = 1;
	issued.replaces = 7;
	assert_int_equal(
		store_report_add(store, &issued, &fixture_actor, issued.at), STORE_REFUSED);
	fixture_report(store, 1, 0);
	fixture_report(store, 1, 1);
	issued.number = 3;
	issued.replaces = 1;
	assert_int_equal(
		store_report_add(store, &issued, &fixture_actor, issued.at), STORE_REFUSED);
	assert_non_null(strstr(store_error(store), "replaced by report 2 already"));
	commit(store);
	assert_int_equal(store_report_next(store, &next), STORE_OK);
	assert_int_equal(next, 3);
	assert_int_equal(store_report_of(store, true, "set-a", &row), STORE_OK);
	assert_int_equal(row.issued.number, 2);
	assert_int_equal(row.issued.replaces, 1);
	assert_string_equal(row.issued.laboratory, "Kaiwerk");
	assert_string_equal(row.recorded.by.name, "mara");
	assert_int_equal(row.issued.run_count, 1);
	assert_int_equal(row.issued.runs[0], 1);
	assert_int_equal(store_report_of(store, false, "set-a", &row), STORE_NONE);
	assert_int_equal(store_report_find(store, 1, &row), STORE_OK);
	assert_int_equal(row.replaced_by, 2);
	assert_int_equal(store_report_find(store, 9, &row), STORE_NONE);
	/* printf 'a file' | b2sum -l 256 */
	assert_string_equal(row.issued.hash,
		"bddf8fe96b600da54eb8d47e285dc3a53bc2173dea236450d861e347ff68ccc9");
	assert_int_equal(store_report_with(store, row.issued.hash, &row), STORE_OK);
	assert_int_equal(row.issued.number, 2);
	assert_int_equal(store_report_with(store, "00", &row), STORE_NONE);
	assert_int_equal(store_reports_each(store, count_report, &count), STORE_OK);
	assert_int_equal(count, 2);
	store_close(store);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, fixture_setup, fixture_teardown)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(test_specimen_comes_back),
		TEST(test_a_name_is_given_once),
		TEST(test_what_is_not_committed_is_gone),
		TEST(test_a_run_takes_what_is_seated),
		TEST(test_a_run_keeps_its_method),
		TEST(test_the_plan_comes_back),
		TEST(test_the_outcome_comes_back),
		TEST(test_an_invented_outcome_comes_back),
		TEST(test_readings_come_back),
		TEST(test_a_closed_run_takes_nothing_more),
		TEST(test_unclosed_runs_are_found),
		TEST(test_fractures_add_up),
		TEST(test_lists),
		TEST(test_rates),
		TEST(test_lists_are_answered_by_indexes),
		TEST(test_details_come_back),
		TEST(test_registering_is_checked),
		TEST(test_what_is_due),
		TEST(test_terms_of_a_set),
		TEST(test_rows_are_only_added),
		TEST(test_reports_replace_one_another),
		TEST(test_summary_is_plain_sql),
	};

	return cmocka_run_group_tests_name("store", tests, NULL, NULL);
}
