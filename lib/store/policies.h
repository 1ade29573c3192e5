/* SPDX-License-Identifier: MIT
 *
 * Inside of the store: the thresholds in force. They hardly ever change, so runs share one set;
 * a set that differs in any bit from the newest one becomes a new set.
 */
#ifndef STORE_POLICIES_H
#define STORE_POLICIES_H

#include "store/sql.h"

/* Gives the number of a set with exactly these values, which is added if need be. */
enum store_status policies_add(
	struct store *store, const struct policy *policy, struct utc_time now, int64_t *number);
/* Thresholds that the set does not name are younger than it and get the values that were in force
 * before they had a name (policy_before). */
enum store_status policies_load(struct store *store, int64_t number, struct policy *policy);

#endif
