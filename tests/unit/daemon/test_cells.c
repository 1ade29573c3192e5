/* SPDX-License-Identifier: MIT
 *
 * The whole daemon while a cell is silent, sends what is of no use, or loses its cable.
 */
#include "now.h"
#include "rig.h"
#include "unit/check.h"

#include <signal.h>
#include <stdlib.h>
#include <string.h>

static void test_unplugged_in_a_run(void **state)
{
	struct rig *rig = *state;

	rig_start_idle(rig);
	rig_begin_run(rig, 30, 0.1);
	rig_unplug(rig);
	int64_t unplugged_ns = now_mono().ns;
	rig_await(rig, "\"state\":\"absent\"");
	assert_true(now_mono().ns - unplugged_ns < CLOCKS_NS_PER_S);
	rig_plug(rig);
	rig_await(rig, "\"state\":\"ready\"");
	rig_load_to(rig, 50, 0.1);
	rig_ramp(rig, 0, -4);
	rig_hear(rig, "\"run_closed\"", "\"run\":1");
	rig_stop(rig, SIGTERM, 0);
	struct run_record *record = rig_load_run(rig, 1);
	check_near((double)record->outcome.judgement.maximum_un, 50e9, 0.1e9);
	assert_true(rig_has_event(record, EVENT_GAP));
	free(record);
}

/* Away for too long: the run is over, and what is loaded when the cell is back is another one. */
static void test_away_too_long(void **state)
{
	struct rig *rig = *state;

	rig_start_idle(rig);
	rig_begin_run(rig, 30, 0.1);
	rig_unplug(rig);
	int64_t unplugged_ns = now_mono().ns;
	rig_hear(rig, "\"run_closed\"", "\"end\":\"interrupted\"");
	assert_in_range(now_mono().ns - unplugged_ns, 10 * CLOCKS_NS_PER_S, RIG_PATIENCE_NS);
	rig_plug(rig);
	rig_hear(rig, "\"run_open\"", "\"run\":2");
	rig_stop(rig, SIGTERM, 0);
	free(rig_load_run(rig, 1));
	free(rig_load_run(rig, 2));
}

static void test_silence(void **state)
{
	struct rig *rig = *state;

	rig_start_idle(rig);
	rig->next_ns = now_mono().ns + RIG_PATIENCE_NS; /* the indicator is switched off */
	rig_hear(rig, "\"state\":\"silent\"", "nothing comes");
	rig->next_ns = 0;
	rig_await(rig, "\"state\":\"ready\"");
	rig_stop(rig, SIGINT, 0);
}

/* Lines come, but none that can be used: the same as silence. */
static void test_wrong_unit_and_garbage(void **state)
{
	struct rig *rig = *state;

	rig_start_idle(rig);
	rig->unit = "lbf";
	rig_await(rig, "\"cell\"");
	rig_hear(rig, "\"state\":\"silent\"", "the cell sends lbf and the config expects kN");
	rig->unit = "kN";
	rig_await(rig, "\"state\":\"ready\"");
	rig->unit = "\xff\x80";
	rig_hear(rig, "\"state\":\"silent\"", "check baud");
	rig->unit = "kN";
	rig_await(rig, "\"state\":\"ready\"");
	rig_stop(rig, SIGTERM, 0);
}

/* A cell whose every second reading is of no use says so once, and once that it is good again. */
static void test_unit_that_changes_with_each_line(void **state)
{
	struct rig *rig = *state;

	rig_start_idle(rig);
	rig->other_unit = "lbf";
	rig_await(rig, "sends lbf");
	rig_forget(rig);
	for (size_t spoken = rig->lines; rig->lines < spoken + 200;) {
		rig_pass_time(rig);
		assert_null(strstr(rig->heard, "\"cell\""));
		if (strchr(rig->heard, '\n'))
			rig_forget(rig);
	}
	rig->other_unit = NULL;
	assert_null(strstr(rig_await(rig, "\"cell\""), "sends lbf"));
	rig_stop(rig, SIGTERM, 0);
}

/* With an argument: the slow one. */
int main(int argc, char **argv)
{
	const struct CMUnitTest tests[] = {
		RIG_TEST(test_unplugged_in_a_run),
		RIG_TEST(test_silence),
		RIG_TEST(test_wrong_unit_and_garbage),
		RIG_TEST(test_unit_that_changes_with_each_line),
	};
	const struct CMUnitTest slow[] = {
		RIG_TEST(test_away_too_long),
	};

	(void)argv;
	return argc > 1 ? cmocka_run_group_tests(slow, NULL, NULL)
			: cmocka_run_group_tests(tests, NULL, NULL);
}
