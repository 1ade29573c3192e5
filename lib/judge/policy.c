/* SPDX-License-Identifier: MIT
 *
 * The thresholds as data. The values and their reasons stand in policy.h.
 */
#include "judge/policy.h"

static const struct policy_entry table[] = {
#define POLICY_ROW(name, value, unit, reason) \
	{#name, (value), unit, reason, offsetof(struct policy, name)},
	POLICY_TABLE(POLICY_ROW)
#undef POLICY_ROW
		{NULL, 0, NULL, NULL, 0},
};

const struct policy_entry *policy_table(void)
{
	return table;
}

void policy_defaults(struct policy *policy)
{
#define POLICY_SET(name, number, unit, reason) policy->name = (number);
	POLICY_TABLE(POLICY_SET)
#undef POLICY_SET
}

void policy_before(struct policy *policy)
{
	policy_defaults(policy);
#define POLICY_SET(name, number) policy->name = (number);
	POLICY_BEFORE(POLICY_SET)
#undef POLICY_SET
}
