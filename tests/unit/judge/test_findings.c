/* SPDX-License-Identifier: MIT
 *
 * The bounded list of events: what finds a place, in which order, and what is only counted.
 */
#include "judge/findings.h"
#include "unit/check.h"

#include <string.h>

static void keeps_what_it_is_told(void **state)
{
	(void)state;
	struct findings findings;
	findings_clear(&findings);
	findings_add(&findings, EVENT_SPIKE, 5, 7, -40, "%d is denied", 40);
	findings_size(&findings, 5, 1234);
	assert_int_equal(findings.count, 1);
	assert_int_equal(findings.events[0].kind, EVENT_SPIKE);
	assert_int_equal(findings.events[0].time.ns, 5);
	assert_int_equal(findings.events[0].load_un, -40);
	assert_int_equal(findings.until_ns[0], 7);
	assert_int_equal(findings.size_un[0], 1234);
	assert_string_equal(findings.events[0].text, "40 is denied");
	findings_add(&findings, EVENT_STALL, 8, 9, 0, "stood");
	assert_int_equal(findings.size_un[1], 0);
}

/* A size is for the event added last; where that found no place, no other event gets it. */
static void size_of_a_lost_event(void **state)
{
	(void)state;
	struct findings findings;
	findings_clear(&findings);
	for (int64_t i = 0; i < JUDGE_EVENTS_MAX; i++) {
		findings_add(&findings, EVENT_SPIKE, i, i, 0, "spike");
		findings_size(&findings, i, 100 + i);
	}
	for (size_t i = 0; i < findings.count; i++)
		assert_int_equal(findings.size_un[i], 100 + (int)i);
}

/* A bad cable may take half of the list and no more; what the press did gets the rest. */
static void faults_take_half(void **state)
{
	(void)state;
	const enum event_kind faults[] = {EVENT_SPIKE, EVENT_GAP, EVENT_STUCK, EVENT_OVER_RANGE};
	struct findings findings;
	findings_clear(&findings);
	for (int i = 0; i < 1000; i++)
		findings_add(&findings, faults[i % 4], i, i, 0, "fault");
	assert_int_equal(findings.count, JUDGE_EVENTS_MAX / 2);
	for (int i = 0; i < 1000; i++)
		findings_add(&findings, EVENT_DROP, i, i, 0, "drop");
	assert_int_equal(findings.count, JUDGE_EVENTS_MAX);
	assert_int_equal(findings.total, 2000);
	assert_int_equal(findings.events[JUDGE_EVENTS_MAX / 2].kind, EVENT_DROP);
	findings_clear(&findings);
	findings_add(&findings, EVENT_GAP, 1, 1, 0, "gap");
	assert_int_equal(findings.count, 1);
	assert_int_equal(findings.total, 1);
}

static void long_text_is_cut(void **state)
{
	(void)state;
	struct findings findings;
	findings_clear(&findings);
	findings_add(&findings, EVENT_STALL, 0, 0, 0, "%0300d", 7);
	assert_int_equal(strlen(findings.events[0].text), EVENT_TEXT_SIZE - 1);
}

static void sorts_by_time_and_then_as_found(void **state)
{
	(void)state;
	const int64_t times[] = {50, 20, 50, -3, 20, 50};
	struct findings findings;
	findings_clear(&findings);
	for (int i = 0; i < 6; i++) {
		findings_add(&findings, EVENT_STALL, times[i], times[i] + i, 1000 + i, "%d", i);
		findings_size(&findings, times[i], 10 * i);
	}
	findings_sort(&findings);
	const int order[] = {3, 1, 4, 0, 2, 5};
	for (size_t k = 0; k < 6; k++) {
		int i = order[k];
		assert_int_equal(findings.events[k].time.ns, times[i]);
		assert_int_equal(findings.events[k].load_un, 1000 + i);
		assert_int_equal(findings.until_ns[k], times[i] + i);
		assert_int_equal(findings.size_un[k], 10 * i);
	}
}

static void copy_is_the_same(void **state)
{
	(void)state;
	struct findings from, to;
	findings_clear(&from);
	findings_clear(&to);
	findings_add(&from, EVENT_STALL, 1, 2, 3, "one");
	findings_add(&from, EVENT_SPIKE, 4, 5, 6, "100 %% of it");
	findings_size(&from, 4, 77);
	findings_copy(&to, &from, 1);
	assert_int_equal(to.count, 1);
	assert_memory_equal(&to.events[0], &from.events[1], sizeof to.events[0]);
	assert_int_equal(to.until_ns[0], 5);
	assert_int_equal(to.size_un[0], 77);
	assert_int_equal(to.fault_count, 1);
}

/* A busy machine makes many late readings; a gap finds a place beside them. */
static void lates_take_what_they_may(void **state)
{
	(void)state;
	struct findings findings;
	findings_clear(&findings);
	findings.late_max = 5;
	for (int i = 0; i < 1000; i++)
		findings_add(&findings, EVENT_LATE, i, i, 0, "late");
	assert_int_equal(findings.count, 5);
	findings_add(&findings, EVENT_GAP, 1000, 2000, 0, "gap");
	assert_int_equal(findings.count, 6);
	assert_int_equal(findings.events[5].kind, EVENT_GAP);
	assert_int_equal(findings.total, 1001);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(keeps_what_it_is_told),
		cmocka_unit_test(size_of_a_lost_event),
		cmocka_unit_test(faults_take_half),
		cmocka_unit_test(lates_take_what_they_may),
		cmocka_unit_test(long_text_is_cut),
		cmocka_unit_test(sorts_by_time_and_then_as_found),
		cmocka_unit_test(copy_is_the_same),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
