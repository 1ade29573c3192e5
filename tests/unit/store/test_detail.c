/* SPDX-License-Identifier: MIT
 *
 * Registering: the details of a specimen come back, the newest hold, and what its method refuses
 * does not get in.
 */
#include "unit/check.h"
#include "unit/store/fixture.h"

#include <string.h>

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
	fixture_begin(store);
	assert_int_equal(store_register(store, &specimen, &detail, "", &fixture_actor,
				 (struct utc_time){1}, &flags),
		STORE_OK);
	assert_int_equal(store_register(store, &specimen, &detail, "", &fixture_actor,
				 (struct utc_time){1}, &flags),
		STORE_REFUSED);
	assert_non_null(strstr(store_error(store), "registered already"));
	fixture_commit(store);
	assert_int_equal(store_detail_find(store, "A-1", &kept), STORE_OK);
	assert_memory_equal(&kept, &detail, sizeof(detail));

	/* corrected: the newest holds, and nothing else of the specimen needs to change */
	detail.mass_mg = 3800000;
	strcpy(detail.pad, "P 8");
	fixture_begin(store);
	assert_int_equal(store_register(store, &specimen, &detail, "weighed again", &fixture_actor,
				 (struct utc_time){2}, &flags),
		STORE_OK);
	fixture_commit(store);
	assert_int_equal(store_detail_find(store, "A-1", &kept), STORE_OK);
	assert_int_equal(kept.mass_mg, 3800000);
	/* of the specimen alone: its details stay */
	detail_init(&detail);
	specimen.length_um += 1000;
	fixture_begin(store);
	assert_int_equal(store_register(store, &specimen, &detail, "measured again", &fixture_actor,
				 (struct utc_time){3}, &flags),
		STORE_OK);
	fixture_commit(store);
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
	fixture_begin(store);
	assert_int_equal(store_register(store, &specimen, &detail, "", &fixture_actor,
				 (struct utc_time){1}, &flags),
		STORE_REFUSED);
	assert_non_null(strstr(store_error(store), "out of square"));
	store_rollback(store);
	assert_int_equal(store_specimen_find(store, "A-1", &specimen), STORE_NONE);
	store_close(store);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		FIXTURE_TEST(test_details_come_back),
		FIXTURE_TEST(test_registering_is_checked),
	};

	return cmocka_run_group_tests_name("detail", tests, NULL, NULL);
}
