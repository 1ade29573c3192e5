/* SPDX-License-Identifier: MIT
 *
 * Under which terms sets are accepted, and which sets are tests of one concrete.
 */
#include "store/columns.h"
#include "store/seal.h"
#include "store/sql.h"

#include <assert.h>
#include <stdio.h>

enum store_status store_terms_add(struct store *store, const struct set_terms *terms,
	const struct actor *actor, struct utc_time now)
{
	struct message why;
	struct sql sql;

	assert(store->transaction);
	if (!set_terms_check(terms, &why))
		return sql_error(store, STORE_REFUSED, "set %s: %s", terms->set, why.text);
	columns_start_insert(&sql, store, "set_terms", "at_utc_ns, by_uid, by_name", columns_terms);
	sql_put_actor(&sql, actor, now);
	columns_put(&sql, columns_terms, terms);
	enum store_status status = sql_finish(&sql);
	return status == STORE_OK ? seal_add_last(store, SEAL_TERMS) : status;
}

enum store_status store_terms_find(struct store *store, const char *set, struct set_terms *terms)
{
	struct sql sql;

	*terms = (struct set_terms){.rule = ACCEPTANCE_NONE};
	snprintf(terms->set, sizeof(terms->set), "%s", set);
	columns_start_select(&sql, store, columns_terms,
		"FROM set_terms WHERE set_name = ? ORDER BY terms DESC LIMIT 1");
	sql_put_text(&sql, set);
	bool found = sql_next(&sql);
	if (found)
		columns_take(&sql, columns_terms, terms);
	return sql_finish_one(&sql, found);
}

enum store_status store_series_each(
	struct store *store, const char *series, store_terms_take *take, void *context)
{
	struct set_terms terms;
	bool more = true;
	struct sql sql;

	columns_start_select(&sql, store, columns_terms,
		"FROM set_terms WHERE terms IN (SELECT max(terms) FROM set_terms GROUP BY set_name)"
		" AND series = ? ORDER BY set_name");
	sql_put_text(&sql, series);
	while (more && sql_next(&sql)) {
		columns_take(&sql, columns_terms, &terms);
		more = sql.status == STORE_OK && take(context, &terms);
	}
	return sql_finish(&sql);
}
