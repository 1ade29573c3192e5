/* SPDX-License-Identifier: MIT
 *
 * Specimens, the seats of presses and the fractures of runs come back bit for bit; what was said
 * first stays.
 */
#include "unit/check.h"
#include "unit/store/fixture.h"

#include <string.h>

static void test_specimen_comes_back(void **state)
{
	struct store *store = fixture_open(*state, STORE_WRITE);
	struct specimen specimen, found;

	memset(&found, 0xff, sizeof(found));
	fixture_specimen(&specimen, "A-1");
	specimen.shape = SHAPE_CUBE;
	specimen.anticipated_pa = 0.1 + 0.2;
	specimen.chosen_rate_pa_s = 1e6 / 3;
	fixture_begin(store);
	assert_int_equal(store_specimen_add(store, &specimen, &fixture_actor, (struct utc_time){5}),
		STORE_OK);
	fixture_commit(store);
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

	fixture_register(store, "A-1");
	fixture_specimen(&specimen, "A-1");
	fixture_begin(store);
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
	fixture_begin(store);
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

	fixture_register(store, "A-1");
	fixture_register(store, "A-2");
	assert_seated(store, "north", NULL);
	fixture_seat(store, "north", "A-1");
	assert_seated(store, "north", "A-1");
	assert_seated(store, "south", NULL);
	fixture_seat(store, "north", "A-2");
	assert_seated(store, "north", "A-2");
	assert_int_equal(store_specimen_find(store, "A-2", &specimen), STORE_OK);
	fixture_run_open(store, "south", &specimen);
	assert_seated(store, "north", "A-2");
	fixture_run_open(store, "north", &specimen);
	/* The seat of A-1 was replaced; it does not come back. */
	assert_seated(store, "north", NULL);
	fixture_seat(store, "north", "A-1");
	fixture_run_open(store, "north", NULL);
	assert_seated(store, "north", "A-1");
	fixture_begin(store);
	assert_int_equal(store_seat(store, "north", "A-9", &fixture_actor, (struct utc_time){6}),
		STORE_NONE);
	assert_non_null(strstr(store_error(store), "register it first"));
	store_rollback(store);
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
	int64_t open = fixture_run_open(store, "north", NULL);
	const struct utc_time now = {77};

	fixture_begin(store);
	assert_int_equal(store_fracture_add(store, run, 7, "", &fixture_actor, now), STORE_REFUSED);
	assert_int_equal(store_fracture_add(store, 9, 3, "", &fixture_actor, now), STORE_NONE);
	assert_int_equal(
		store_fracture_add(store, open, 3, "", &fixture_actor, now), STORE_REFUSED);
	assert_int_equal(store_fracture_add(store, run, 3, "", &fixture_actor, now), STORE_OK);
	assert_int_equal(store_fracture_add(store, run, 5, "side, at the cap", &fixture_actor, now),
		STORE_OK);
	fixture_commit(store);
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
		fixture_begin(store);
		assert_int_equal(store_register(store, &specimen, &detail, "", &fixture_actor,
					 (struct utc_time){1}, &flags),
			STORE_OK);
		fixture_commit(store);
	}
	fixture_begin(store);
	assert_int_equal(store_run_assign(store, 1, "D-1", "was not seated", &fixture_actor,
				 (struct utc_time){2}),
		STORE_OK);
	specimen.cast.ns = 0; /* the hour of D-3 was wrong, and is not known */
	assert_int_equal(store_specimen_correct(store, &specimen, "not known", &fixture_actor,
				 (struct utc_time){2}),
		STORE_OK);
	fixture_commit(store);
	assert_int_equal(store_due_each(store, count_due, &count), STORE_OK);
	assert_int_equal(count, 1);
	store_close(store);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		FIXTURE_TEST(test_specimen_comes_back),
		FIXTURE_TEST(test_a_name_is_given_once),
		FIXTURE_TEST(test_what_is_not_committed_is_gone),
		FIXTURE_TEST(test_a_run_takes_what_is_seated),
		FIXTURE_TEST(test_fractures_add_up),
		FIXTURE_TEST(test_what_is_due),
	};

	return cmocka_run_group_tests_name("specimen", tests, NULL, NULL);
}
