/* SPDX-License-Identifier: MIT
 *
 * The reports that were issued: numbered without a hole, each replaced once at the most.
 */
#include "unit/check.h"
#include "unit/store/fixture.h"

#include <string.h>

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
	fixture_begin(store);
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
	fixture_commit(store);
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

int main(void)
{
	const struct CMUnitTest tests[] = {
		FIXTURE_TEST(test_reports_replace_one_another),
	};

	return cmocka_run_group_tests_name("report", tests, NULL, NULL);
}
