/* SPDX-License-Identifier: MIT
 *
 * The table of thresholds: the same as the struct, each with a unit and a reason.
 */
#include "judge/policy.h"
#include "unit/check.h"

#include <string.h>

static void table_is_the_struct(void **state)
{
	(void)state;
	struct policy policy;
	memset(&policy, 0xff, sizeof policy); /* every field a NaN */
	policy_defaults(&policy);
	size_t count = 0;
	for (const struct policy_entry *entry = policy_table(); entry->name != NULL; entry++) {
		double value;
		memcpy(&value, (const char *)&policy + entry->offset, sizeof value);
		check_near(value, entry->value, 0);
		assert_int_equal(entry->offset, count * sizeof(double));
		count++;
	}
	assert_int_equal(count * sizeof(double), sizeof policy);
}

static void each_has_a_reason(void **state)
{
	(void)state;
	for (const struct policy_entry *entry = policy_table(); entry->name != NULL; entry++) {
		assert_true(entry->value > 0);
		assert_true(strlen(entry->unit) > 0 && strlen(entry->reason) > 10);
		for (const struct policy_entry *other = entry + 1; other->name != NULL; other++)
			assert_string_not_equal(entry->name, other->name);
	}
}

/* Thresholds that only make sense in this order. */
static void thresholds_agree(void **state)
{
	(void)state;
	struct policy policy;
	policy_defaults(&policy);
	assert_true(policy.release_fraction < policy.alignment_fraction);
	assert_true(policy.alignment_fraction < policy.event_floor);
	assert_true(policy.decline_fraction < 1 - policy.drop_fraction);
	assert_true(policy.contact_s < policy.release_s);
	assert_true(policy.yield_rate_blind < policy.yield_rate);
	assert_true(policy.stall_fraction < policy.yield_rate_blind);
	assert_true(policy.window_share <= 0.5);
}

/* A set that names nothing is judged by the first rules, and a threshold that has only got a name
 * since keeps its value. */
static void before_the_names(void **state)
{
	(void)state;
	struct policy before, now;
	policy_before(&before);
	policy_defaults(&now);
	check_near(before.rules, 1, 0);
	assert_true(now.rules > before.rules);
	check_near(before.decline_to, now.decline_to, 0);
	check_near(before.yield_fall_s, 0, 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(table_is_the_struct),
		cmocka_unit_test(each_has_a_reason),
		cmocka_unit_test(thresholds_agree),
		cmocka_unit_test(before_the_names),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
