/* SPDX-License-Identifier: MIT
 *
 * The bytes under a seal do not change: a seal made today has to hold in ten years. The expected
 * hashes were computed by a program in another language that follows docs/seal.md, on the database
 * that this test writes. The part "policy" is left out: it grows with the judge's table.
 */
#include "store/seal.h"
#include "unit/check.h"
#include "unit/store/fixture.h"

#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct expected {
	const char *part;
	const char *hash;
};

static const struct expected expected_parts[] = {
	{"run", "931140cae719acc2bfed6924b09cce14ee5308054bd1ee023ac75610f1e90595"},
	{"seat", "dd0e160d658c8afcf27e16cd6bcd823f21d216942c64845cfc8ac6d7ff2ffb41"},
	{"run_specimen", "5982d04a1ba9e95fa5cdcf64c5f720c8a1cb726e729baec7abce05f4dd7d48cf"},
	{"run_cell", "84604de80ebacaff116cdc9868cd84d602de0420d86d15035b07add47943f22c"},
	{"chunk", "c66b083c9f886e3577ff72e96ef73ca34473addefb4ff24b665b16e06f8be644"},
	{"run_outcome", "f459c6061d4ff4a76dccf3cb940cb1d4455858d41b379b5d2c285d65f754e02b"},
	{"run_rate", "a0b1d7c12a3137b6e89fcffc31ff8045e63520d31a0ce0ea1aa0cc5551458eb0"},
	{"run_event", "fc1c1598bc80b2843d17eee2ab70b0383a1e39849964c7076878149106b7d034"},
	{"run_press", "4a830f936974a3f7d258e552f20e2d31a44ac7762af72c6ff1d4b3226c50b324"},
	{"run_place", "cc78c63be3075acb179a53045e8dd21bca3e24a4fc9213f21981255c1606a83d"},
	{"run_thrust", "fb114be9f96bfaf9f79d3cf1b2af127271223596b0a8b0af7c5c2a753b99fa80"},
	{"run_method", "4a7c612d47f1c8caf8f626a36729348d9c552a4957906c36e28e7ea73d5c9e86"},
};

/* A method of one line, so that the seal's known value follows from this file. */
static const struct method written = {.name = "astm-c39", .text = "[method]\n"};

/* Set in full: nothing here depends on a method, a threshold or the judge. */
static void fixed_start(struct run_start *start)
{
	memset(start, 0, sizeof(*start));
	strcpy(start->press, "north");
	strcpy(start->method, "astm-c39");
	start->judged_by = &written;
	strcpy(start->program, "ramplogd 0.1.0");
	strcpy(start->boot_id, "boot");
	start->started.ns = INT64_C(1772000000123456789);
	start->origin.ns = INT64_C(3600000000000);
	start->capacity_un = INT64_C(2000000000000);
	start->has_specimen = true;
	fixture_specimen(&start->specimen, "A-1");
	start->plan = (struct plan){.area_m2 = 0.1 + 0.2,
		.rate_unit_pa = 1e6,
		.band_low = 0.2,
		.band_high = 0.3,
		.span_from = 0.5,
		.span_to = 0.9,
		.window_ns = 5,
		.anticipated_load_un = 6,
		.basis_anticipated = true,
		.contact_un = 7,
		.alignment_un = 8};
	start->watch = (struct press_watch_plan){.zero_limit_un = 9,
		.drift_limit_un = 10,
		.has_zero_before = true,
		.zero_before_un = -11,
		.thrust_limit_um = 5000,
		.thrust_least_un = 12,
		.block = {105000, true},
		.place_count = 2,
		.places = {{-100, 200}, {300, -400}}};
	start->standing = (struct standing){STANDING_VOID, 0, {13}, {14}, 15, 16, "repair: pump"};
	start->cell_count = 2;
	for (size_t i = 0; i < 2; i++) {
		strcpy(start->cells[i].name, i ? "right" : "left");
		strcpy(start->cells[i].device, "/dev/ttyS0");
		strcpy(start->cells[i].decoder, "plain");
		start->cells[i].scale = (struct scale){UNIT_KILONEWTON, {-15, -1}, -3};
	}
}

static void fixed_outcome(struct outcome *outcome)
{
	struct judgement *judgement = &outcome->judgement;

	memset(outcome, 0, sizeof(*outcome));
	outcome->area_m2 = 1.0 / 3;
	outcome->correction = 0.98;
	outcome->strength_pa = 31.65e6;
	strcpy(outcome->strength_reported, "31.6 MPa");
	outcome->thrust = (struct outcome_thrust){true, -17, 18, 19, {20}};
	judgement->maximum_un = INT64_C(248000000000);
	judgement->maximum_at.ns = -1;
	judgement->rate.verdict = VERDICT_OUT_OF_BAND;
	strcpy(judgement->rate.reason, "0.31 MPa/s \xe2\x80\x93 above");
	judgement->rate.highest_pa_s = 5e-324;
	judgement->rate.worst.ns = INT64_MIN;
	judgement->event_count = 1;
	judgement->event_total = 70;
	judgement->events[0] = (struct event){EVENT_STALL, {9}, -10, "the load stood still"};
}

static int64_t write_run(struct store *store)
{
	const struct utc_time now = {INT64_C(1771990000000000000)};
	const struct reading reading = {.time = {3600000000000},
		.value = {1250, -2},
		.unit = UNIT_KILONEWTON,
		.status = READING_OVER};
	struct outcome outcome;
	struct run_start start;
	int64_t run = 0;

	fixed_start(&start);
	fixed_outcome(&outcome);
	fixture_begin(store);
	assert_int_equal(store_specimen_add(store, &start.specimen, &fixture_actor, now), STORE_OK);
	assert_int_equal(store_seat(store, "north", "A-1", &fixture_actor, now), STORE_OK);
	assert_int_equal(store_run_open(store, &start, &run), STORE_OK);
	assert_int_equal(store_readings_add(store, run, 0, &reading, 1), STORE_OK);
	assert_int_equal(store_readings_add(store, run, 1, &reading, 1), STORE_OK);
	assert_int_equal(store_run_close(store, run, &outcome, now), STORE_OK);
	fixture_commit(store);
	return run;
}

static void test_parts_keep_their_bytes(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	char hex[STORE_SEAL_SIZE * 2 + 1];
	struct seal seal;
	size_t checked = 0;

	assert_int_equal(seal_find(store, SEAL_RUN, write_run(store), &seal), STORE_OK);
	for (size_t i = 0; i < seal.part_count; i++) {
		sodium_bin2hex(hex, sizeof(hex), seal.parts + i * STORE_SEAL_SIZE, STORE_SEAL_SIZE);
		for (size_t j = 0; j < sizeof(expected_parts) / sizeof(expected_parts[0]); j++) {
			if (strcmp(seal_part_name(&seal, i), expected_parts[j].part) != 0)
				continue;
			assert_string_equal(hex, expected_parts[j].hash);
			checked++;
		}
	}
	assert_int_equal(checked, seal.part_count - 1);
	store_close(store);
}

static void test_seals_keep_their_bytes(void **state)
{
	struct seal seal = {.number = 2, .row = 3, .version = 1, .part_count = 9};
	unsigned char hash[STORE_SEAL_SIZE];
	char hex[STORE_SEAL_SIZE * 2 + 1];
	(void)state;

	memset(seal.previous, 0xa5, sizeof(seal.previous));
	for (size_t i = 0; i < 9 * STORE_SEAL_SIZE; i++)
		seal.parts[i] = (unsigned char)i;
	seal_hash(&seal, hash);
	sodium_bin2hex(hex, sizeof(hex), hash, sizeof(hash));
	assert_string_equal(
		hex, "b5196d4ca6894c1568a48395d144230daa0e66e8995a2187c69d5017d4d49662");
}

static void test_seals_are_chained(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	unsigned char nothing[STORE_SEAL_SIZE] = {0}, hash[STORE_SEAL_SIZE];
	struct seal key, first, second;

	int64_t early = fixture_run_unclosed(store, "north");
	int64_t late = fixture_run(store, "south", NULL, 1, 0.5, NULL);
	struct outcome outcome;
	fixed_outcome(&outcome);
	fixture_begin(store);
	assert_int_equal(store_run_close(store, early, &outcome, (struct utc_time){1}), STORE_OK);
	fixture_commit(store);
	assert_int_equal(seal_find(store, SEAL_RUN, late, &first), STORE_OK);
	assert_int_equal(seal_find(store, SEAL_RUN, early, &second), STORE_OK);
	/* In the order of closing, not of opening. */
	assert_int_equal(first.number, 2);
	assert_int_equal(second.number, 3);
	assert_int_equal(seal_at(store, 1, &key), STORE_OK);
	assert_int_equal(key.subject, SEAL_KEY);
	assert_memory_equal(key.previous, nothing, sizeof(nothing));
	assert_memory_equal(first.previous, key.hash, sizeof(key.hash));
	assert_memory_equal(second.previous, first.hash, sizeof(first.hash));
	seal_hash(&second, hash);
	assert_memory_equal(second.hash, hash, sizeof(hash));
	store_close(store);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		FIXTURE_TEST(test_parts_keep_their_bytes),
		FIXTURE_TEST(test_seals_keep_their_bytes),
		FIXTURE_TEST(test_seals_are_chained),
	};

	return cmocka_run_group_tests_name("seal", tests, NULL, NULL);
}
