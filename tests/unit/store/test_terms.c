/* SPDX-License-Identifier: MIT
 *
 * The terms of sets: the newest hold, and a series is found by its name.
 */
#include "unit/check.h"
#include "unit/store/fixture.h"

#include <string.h>

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
	fixture_begin(store);
	assert_int_equal(
		store_terms_add(store, &terms, &fixture_actor, (struct utc_time){1}), STORE_OK);
	assert_int_equal(
		store_terms_add(store, &other, &fixture_actor, (struct utc_time){1}), STORE_OK);
	strcpy(other.series, "pier"); /* was entered wrongly: the newest holds */
	assert_int_equal(
		store_terms_add(store, &other, &fixture_actor, (struct utc_time){2}), STORE_OK);
	fixture_commit(store);
	assert_int_equal(store_terms_find(store, "quay-7", &found), STORE_OK);
	assert_string_equal(found.series, "quay");
	assert_int_equal(found.rule, terms.rule);
	assert_true(found.specified_pa == 30e6 && found.sigma_pa == 3e6 && found.field);
	assert_int_equal(store_series_each(store, "quay", count_sets, &count), STORE_OK);
	assert_int_equal(count, 1);
	fixture_begin(store);
	terms.sigma_pa = 0;
	assert_int_equal(store_terms_add(store, &terms, &fixture_actor, (struct utc_time){3}),
		STORE_REFUSED);
	store_rollback(store);
	store_close(store);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		FIXTURE_TEST(test_terms_of_a_set),
	};

	return cmocka_run_group_tests_name("terms", tests, NULL, NULL);
}
