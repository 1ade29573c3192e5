/* SPDX-License-Identifier: MIT
 *
 * Sets of thresholds, one row a threshold, by the names of the judge's own table.
 */
#include "store/policies.h"

#include <string.h>

static double *value_of(struct policy *policy, const struct policy_entry *entry)
{
	return (double *)((char *)policy + entry->offset);
}

static double constant_value_of(const struct policy *policy, const struct policy_entry *entry)
{
	double value;

	memcpy(&value, (const char *)policy + entry->offset, sizeof(value));
	return value + 0.0; /* as the database gives it back: it has no -0 */
}

static enum store_status read_set(struct store *store, int64_t number, struct policy *policy)
{
	char name[STORE_NAME_SIZE];
	struct sql sql;

	policy_before(policy);
	sql_start(&sql, store, "SELECT name, value FROM policy_value WHERE policy = ?");
	sql_put_integer(&sql, number);
	while (sql_next(&sql)) {
		sql_take_text(&sql, name, sizeof(name));
		double value = sql_take_real(&sql);
		for (const struct policy_entry *entry = policy_table(); entry->name; entry++) {
			if (strcmp(entry->name, name) == 0)
				*value_of(policy, entry) = value;
		}
	}
	return sql_finish(&sql);
}

/* Run after run has the same set. */
enum store_status policies_load(struct store *store, int64_t number, struct policy *policy)
{
	enum store_status status = STORE_OK;

	if (store->policy_number != number) {
		store->policy_number = 0;
		status = read_set(store, number, &store->policy);
	}
	if (status == STORE_OK)
		store->policy_number = number;
	*policy = store->policy;
	return status;
}

/* The set holds just the thresholds of today's table, with these values. */
static enum store_status compare(
	struct store *store, int64_t number, const struct policy *policy, bool *same)
{
	struct policy found;
	size_t count = 0;
	int64_t stored = 0;
	struct sql sql;

	enum store_status status = policies_load(store, number, &found);
	if (status != STORE_OK)
		return status;
	sql_start(&sql, store, "SELECT count(*) FROM policy_value WHERE policy = ?");
	sql_put_integer(&sql, number);
	if (sql_next(&sql))
		stored = sql_take_integer(&sql);
	*same = true;
	for (const struct policy_entry *entry = policy_table(); entry->name; entry++, count++) {
		double a = constant_value_of(&found, entry), b = constant_value_of(policy, entry);
		*same = *same && memcmp(&a, &b, sizeof(a)) == 0;
	}
	*same = *same && stored == (int64_t)count;
	return sql_finish(&sql);
}

static enum store_status add_values(
	struct store *store, int64_t number, const struct policy *policy)
{
	enum store_status status = STORE_OK;
	struct sql sql;

	for (const struct policy_entry *entry = policy_table(); entry->name && status == STORE_OK;
		entry++) {
		sql_start(&sql, store,
			"INSERT INTO policy_value (policy, name, value, unit) VALUES (?, ?, ?, ?)");
		sql_put_integer(&sql, number);
		sql_put_text(&sql, entry->name);
		sql_put_real(&sql, constant_value_of(policy, entry));
		sql_put_text(&sql, entry->unit);
		status = sql_finish(&sql);
	}
	return status;
}

enum store_status policies_add(
	struct store *store, const struct policy *policy, struct utc_time now, int64_t *number)
{
	bool same = false;
	struct sql sql;

	enum store_status status =
		sql_integer(store, "SELECT ifnull(max(policy), 0) FROM policy", number);
	if (status == STORE_OK && *number > 0)
		status = compare(store, *number, policy, &same);
	if (status != STORE_OK || same)
		return status;
	++*number;
	sql_start(&sql, store, "INSERT INTO policy (policy, since_utc_ns) VALUES (?, ?)");
	sql_put_integer(&sql, *number);
	sql_put_integer(&sql, now.ns);
	status = sql_finish(&sql);
	return status == STORE_OK ? add_values(store, *number, policy) : status;
}
