/* SPDX-License-Identifier: MIT
 *
 * The texts of test methods: one row a text, however many runs were judged by it; and who compared
 * a text with the standard.
 */
#include "store/method_texts.h"

#include "store/seal.h"

#include <assert.h>

/* There are few texts, and the newest are the likeliest. */
static enum store_status find_text(
	struct store *store, const struct method *method, int64_t *number)
{
	struct sql sql;

	sql_start(&sql, store,
		"SELECT method FROM method_text WHERE name = ? AND text = ?"
		" ORDER BY method DESC LIMIT 1");
	sql_put_text(&sql, method->name);
	sql_put_text(&sql, method->text);
	bool found = sql_next(&sql);
	if (found)
		*number = sql_take_integer(&sql);
	return sql_finish_one(&sql, found);
}

static enum store_status add_text(
	struct store *store, const struct method *method, struct utc_time now, int64_t *number)
{
	struct sql sql;

	enum store_status status = find_text(store, method, number);
	if (status != STORE_NONE)
		return status;
	status = sql_integer(store, "SELECT ifnull(max(method), 0) + 1 FROM method_text", number);
	if (status != STORE_OK)
		return status;
	sql_start(&sql, store,
		"INSERT INTO method_text (method, name, text, since_utc_ns) VALUES (?, ?, ?, ?)");
	sql_put_integer(&sql, *number);
	sql_put_text(&sql, method->name);
	sql_put_text(&sql, method->text);
	sql_put_integer(&sql, now.ns);
	return sql_finish(&sql);
}

enum store_status method_texts_add(
	struct store *store, int64_t run, const struct method *method, struct utc_time now)
{
	int64_t number = 0;
	struct sql sql;

	enum store_status status = add_text(store, method, now, &number);
	if (status != STORE_OK)
		return status;
	sql_start(&sql, store, "INSERT INTO run_method (run, method) VALUES (?, ?)");
	sql_put_integer(&sql, run);
	sql_put_integer(&sql, number);
	return sql_finish(&sql);
}

enum store_status method_texts_load(
	struct store *store, int64_t run, const char *name, const struct method **method)
{
	char text[METHOD_TEXT_SIZE];
	struct sql sql;

	/* A run from before texts were kept was judged by what was built in. */
	*method = methods_built_in(name);
	sql_start(&sql, store,
		"SELECT text FROM run_method JOIN method_text USING (method) WHERE run = ?");
	sql_put_integer(&sql, run);
	if (sql_next(&sql)) {
		sql_take_text(&sql, text, sizeof(text));
		if (sql.status == STORE_OK)
			*method = methods_recorded(name, text);
	}
	return sql_finish(&sql);
}

enum store_status store_method_confirm(struct store *store, const struct method *method,
	const char *edition, const char *note, const struct actor *actor, struct utc_time now)
{
	int64_t number = 0;
	struct sql sql;

	assert(store->transaction);
	if (!edition[0])
		return sql_error(store, STORE_REFUSED,
			"method %s: which edition of the standard was it compared with?",
			method->name);
	enum store_status status = add_text(store, method, now, &number);
	if (status != STORE_OK)
		return status;
	sql_start(&sql, store,
		"INSERT INTO method_confirmation (method, edition, note, at_utc_ns, by_uid,"
		" by_name) VALUES (?, ?, ?, ?, ?, ?)");
	sql_put_integer(&sql, number);
	sql_put_text(&sql, edition);
	sql_put_text(&sql, note);
	sql_put_actor(&sql, actor, now);
	status = sql_finish(&sql);
	return status == STORE_OK ? seal_add_last(store, SEAL_CONFIRMATION) : status;
}

enum store_status store_method_confirmed(
	struct store *store, const struct method *method, struct method_confirmation *confirmation)
{
	int64_t number = 0;
	struct sql sql;

	enum store_status status = find_text(store, method, &number);
	if (status != STORE_OK)
		return status;
	sql_start(&sql, store,
		"SELECT edition, note, at_utc_ns, by_uid, by_name FROM method_confirmation"
		" WHERE method = ? ORDER BY confirmation DESC LIMIT 1");
	sql_put_integer(&sql, number);
	bool found = sql_next(&sql);
	if (found) {
		sql_take_text(&sql, confirmation->edition, sizeof(confirmation->edition));
		sql_take_text(&sql, confirmation->note, sizeof(confirmation->note));
		confirmation->at.ns = sql_take_integer(&sql);
		confirmation->by.uid = (uint32_t)sql_take_integer(&sql);
		sql_take_text(&sql, confirmation->by.name, sizeof(confirmation->by.name));
	}
	return sql_finish_one(&sql, found);
}
