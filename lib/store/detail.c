/* SPDX-License-Identifier: MIT
 *
 * What was measured and seen of a specimen beside its dimensions, and the rules by which both are
 * taken in: one place for the daemon and for who writes without one.
 */
#include "result/detail.h"

#include "store/columns.h"
#include "store/seal.h"
#include "store/sql.h"

#include <assert.h>
#include <string.h>

/* ---- measures, a row each */

static enum store_status add_measures(
	struct store *store, int64_t number, const char *what, const int64_t *values, size_t count)
{
	enum store_status status = STORE_OK;
	struct sql sql;

	for (size_t i = 0; i < count && status == STORE_OK; i++) {
		sql_start(&sql, store,
			"INSERT INTO specimen_measure (number, what, seq, value_um)"
			" VALUES (?, ?, ?, ?)");
		sql_put_integer(&sql, number);
		sql_put_text(&sql, what);
		sql_put_integer(&sql, (int64_t)i);
		sql_put_integer(&sql, values[i]);
		status = sql_finish(&sql);
	}
	return status;
}

static enum store_status take_measures(struct store *store, int64_t number, const char *what,
	int64_t *values, size_t most, size_t *count)
{
	struct sql sql;

	*count = 0;
	sql_start(&sql, store,
		"SELECT value_um FROM specimen_measure WHERE number = ? AND what = ? ORDER BY seq");
	sql_put_integer(&sql, number);
	sql_put_text(&sql, what);
	while (sql_next(&sql)) {
		int64_t value = sql_take_integer(&sql);
		if (*count == most)
			sql_damaged(&sql, "more measures than there can be");
		else
			values[(*count)++] = value;
	}
	return sql_finish(&sql);
}

/* ---- details */

enum store_status store_detail_add(struct store *store, const char *specimen_id,
	const struct detail *detail, const char *reason, const struct actor *actor,
	struct utc_time now)
{
	struct sql sql;

	assert(store->transaction);
	assert(detail->width_count <= DETAIL_WIDTHS_MAX &&
		detail->length_count <= DETAIL_LENGTHS_MAX);
	columns_start_insert(&sql, store, "specimen_detail",
		"specimen, reason, at_utc_ns, by_uid, by_name", columns_detail);
	sql_put_text(&sql, specimen_id);
	sql_put_text(&sql, reason);
	sql_put_actor(&sql, actor, now);
	columns_put(&sql, columns_detail, detail);
	enum store_status status = sql_finish(&sql);
	int64_t number = sqlite3_last_insert_rowid(store->db);
	if (status == STORE_OK)
		status = add_measures(
			store, number, "width", detail->widths_um, detail->width_count);
	if (status == STORE_OK)
		status = add_measures(
			store, number, "length", detail->lengths_um, detail->length_count);
	return status == STORE_OK ? seal_add(store, SEAL_DETAIL, number) : status;
}

enum store_status store_detail_find(
	struct store *store, const char *specimen_id, struct detail *detail)
{
	int64_t number = 0;
	struct sql sql;

	detail_init(detail);
	columns_start_select(&sql, store, columns_detail,
		", number FROM specimen_detail WHERE specimen = ? ORDER BY number DESC LIMIT 1");
	sql_put_text(&sql, specimen_id);
	bool found = sql_next(&sql);
	if (found) {
		columns_take(&sql, columns_detail, detail);
		number = sql_take_integer(&sql);
	}
	enum store_status status = sql_finish_one(&sql, found);
	if (status == STORE_OK)
		status = take_measures(store, number, "width", detail->widths_um, DETAIL_WIDTHS_MAX,
			&detail->width_count);
	if (status == STORE_OK)
		status = take_measures(store, number, "length", detail->lengths_um,
			DETAIL_LENGTHS_MAX, &detail->length_count);
	return status;
}

enum store_status store_pad_uses(struct store *store, const char *pad, int *uses)
{
	struct sql sql;

	*uses = 0;
	sql_start(&sql, store,
		"SELECT count(*) FROM run_specimen JOIN (SELECT specimen, pad, max(number) FROM"
		" specimen_detail GROUP BY specimen) USING (specimen) WHERE pad = ?");
	sql_put_text(&sql, pad);
	if (sql_next(&sql))
		*uses = (int)sql_take_integer(&sql);
	return sql_finish(&sql);
}

/* ---- specimen and detail together */

static enum store_status check_id(struct store *store, const char *id, const char *reason)
{
	struct specimen found;
	enum store_status status = store_specimen_find(store, id, &found);

	if (status == STORE_OK && !reason[0])
		return sql_error(store, STORE_REFUSED,
			"specimen %s is registered already: choose another name", id);
	if (status == STORE_NONE && reason[0])
		return sql_error(store, STORE_NONE, "specimen %s is not registered", id);
	return status == STORE_NONE ? STORE_OK : status;
}

enum store_status store_register_check(struct store *store, const struct specimen *specimen,
	const struct detail *detail, const char *reason, struct detail_flags *flags)
{
	const struct method *method = method_find(specimen->method);
	struct detail kept;
	struct message why = {"the method is not known"};
	int uses = 0;

	flags->count = 0;
	enum store_status status = check_id(store, specimen->id, reason);
	/* Corrected without details: those that there are stay. */
	if (status == STORE_OK && reason[0] && detail_is_empty(detail)) {
		status = store_detail_find(store, specimen->id, &kept);
		status = status == STORE_NONE ? STORE_OK : status;
		detail = &kept;
	}
	if (status == STORE_OK && detail->pad[0])
		status = store_pad_uses(store, detail->pad, &uses);
	if (status != STORE_OK)
		return status;
	if (!method || !specimen_check(specimen, &why) ||
		!method_specimen_check(method, specimen, &why) ||
		!detail_check(method, specimen, detail, uses, flags, &why))
		return sql_error(store, STORE_REFUSED, "specimen %s: %s", specimen->id, why.text);
	return STORE_OK;
}

static enum store_status correct(struct store *store, const struct specimen *specimen,
	const struct detail *detail, const char *reason, const struct actor *actor,
	struct utc_time now)
{
	struct specimen present;
	enum store_status status = store_specimen_find(store, specimen->id, &present);

	if (status != STORE_OK)
		return status;
	if (!columns_same(columns_specimen, specimen, &present) || detail_is_empty(detail))
		status = store_specimen_correct(store, specimen, reason, actor, now);
	if (status == STORE_OK && !detail_is_empty(detail))
		status = store_detail_add(store, specimen->id, detail, reason, actor, now);
	return status;
}

enum store_status store_register(struct store *store, const struct specimen *specimen,
	const struct detail *detail, const char *reason, const struct actor *actor,
	struct utc_time now, struct detail_flags *flags)
{
	assert(store->transaction);
	enum store_status status = store_register_check(store, specimen, detail, reason, flags);
	if (status != STORE_OK)
		return status;
	if (reason[0])
		return correct(store, specimen, detail, reason, actor, now);
	status = store_specimen_add(store, specimen, actor, now);
	if (status == STORE_OK && !detail_is_empty(detail))
		status = store_detail_add(store, specimen->id, detail, "", actor, now);
	return status;
}
