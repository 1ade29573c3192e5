/* SPDX-License-Identifier: MIT
 *
 * Every threshold of the judgement: its name, unit, value and reason, in one place. The values in
 * force are stored with each run, so that an old run is judged again by what held on its day.
 */
#ifndef JUDGE_POLICY_H
#define JUDGE_POLICY_H

#include <stddef.h>

/* X(name, default, "unit", "reason") */
#define POLICY_TABLE(X) \
	X(contact_s, 0.05, "s", "contact must last this long, so that a knock is no run") \
	X(release_s, 0.5, "s", "the load must stay off this long before a run is over") \
	X(alignment_wait_s, 120, "s", "how long a small load that was taken off may wait for the test") \
	X(alignment_fraction, 0.10, "of the anticipated load", \
		"a load below this, taken off again, is an alignment check (ASTM C39, unbonded caps)") \
	X(decline_fraction, 0.95, "of the maximum", \
		"below this and still falling, the specimen has broken (ASTM C39's floor for stopping)")

struct policy {
#define POLICY_FIELD(name, value, unit, reason) double name;
	POLICY_TABLE(POLICY_FIELD)
#undef POLICY_FIELD
};

struct policy_entry {
	const char *name;
	double value; /* the default */
	const char *unit;
	const char *reason;
	size_t offset; /* of the double in struct policy */
};

void policy_defaults(struct policy *policy);
/* The table as data, ended by an entry with a NULL name: for docs, storing and measuring. */
const struct policy_entry *policy_table(void);

#endif
