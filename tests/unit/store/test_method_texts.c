/* SPDX-License-Identifier: MIT
 *
 * The text of a method is kept with the run, and what was confirmed is the text.
 */
#include "result/methods.h"
#include "store/replay.h"
#include "unit/check.h"
#include "unit/store/fixture.h"

#include <string.h>

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
	fixture_begin(store);
	assert_int_equal(store_method_confirm(store, before, "2021", "pages 1 to 9", &fixture_actor,
				 (struct utc_time){5}),
		STORE_OK);
	assert_int_equal(
		store_method_confirm(store, before, "", "", &fixture_actor, (struct utc_time){5}),
		STORE_REFUSED);
	fixture_commit(store);
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

int main(void)
{
	const struct CMUnitTest tests[] = {
		FIXTURE_TEST(test_a_run_keeps_its_method),
	};

	return cmocka_run_group_tests_name("method texts", tests, NULL, NULL);
}
