/* SPDX-License-Identifier: MIT
 *
 * The press itself: its verifications, what was done to it, its cells' zeros. Rows are only added;
 * what holds at a time is asked for with that time.
 */
#include "store/columns.h"
#include "store/seal.h"
#include "store/sql.h"

#include <assert.h>
#include <string.h>

static void take_recorded(struct sql *sql, struct recorded *recorded)
{
	recorded->at.ns = sql_take_integer(sql);
	recorded->by.uid = (uint32_t)sql_take_integer(sql);
	sql_take_text(sql, recorded->by.name, sizeof(recorded->by.name));
}

/* ---- verifications */

static enum store_status add_force(struct store *store, int64_t verification, size_t seq,
	const struct verification_force *force)
{
	struct sql sql;

	columns_start_insert(&sql, store, "verification_force", "verification, seq", columns_force);
	sql_put_integer(&sql, verification);
	sql_put_integer(&sql, (int64_t)seq);
	columns_put(&sql, columns_force, force);
	return sql_finish(&sql);
}

enum store_status store_verification_add(struct store *store, struct verification *verification,
	const struct actor *actor, struct utc_time now)
{
	struct sql sql;

	assert(store->transaction);
	enum store_status status = sql_integer(store,
		"SELECT ifnull(max(verification), 0) + 1 FROM verification", &verification->number);
	if (status != STORE_OK)
		return status;
	columns_start_insert(&sql, store, "verification",
		"verification, at_utc_ns, by_uid, by_name", columns_verification);
	sql_put_integer(&sql, verification->number);
	sql_put_actor(&sql, actor, now);
	columns_put(&sql, columns_verification, verification);
	status = sql_finish(&sql);
	for (size_t i = 0; i < verification->force_count && status == STORE_OK; i++)
		status = add_force(store, verification->number, i, &verification->forces[i]);
	return status == STORE_OK ? seal_add(store, SEAL_VERIFICATION, verification->number)
				  : status;
}

static enum store_status load_forces(struct store *store, struct verification *verification)
{
	size_t count = 0;
	struct sql sql;

	columns_start_select(&sql, store, columns_force,
		"FROM verification_force WHERE verification = ? ORDER BY seq");
	sql_put_integer(&sql, verification->number);
	for (; count < verification->force_count && sql_next(&sql); count++)
		columns_take(&sql, columns_force, &verification->forces[count]);
	enum store_status status = sql_finish(&sql);
	if (status == STORE_OK && count != verification->force_count)
		return sql_error(store, STORE_CORRUPT,
			"%s: verification %lld: a row of verification_force is missing",
			store->path, (long long)verification->number);
	return status;
}

static void take_verification(
	struct sql *sql, struct verification *verification, struct recorded *recorded)
{
	memset(verification, 0, sizeof(*verification));
	columns_take(sql, columns_verification, verification);
	verification->number = sql_take_integer(sql);
	take_recorded(sql, recorded);
	if (verification->force_count > VERIFICATION_FORCES_MAX)
		sql_damaged(sql, "an impossible number of forces");
}

#define VERIFICATION_REST ", verification, at_utc_ns, by_uid, by_name FROM verification"

enum store_status store_verifications_each(
	struct store *store, const char *press, store_verification_take *take, void *context)
{
	struct verification verification;
	struct recorded recorded;
	enum store_status forces = STORE_OK;
	bool more = true;
	struct sql sql;

	columns_start_select(&sql, store, columns_verification,
		VERIFICATION_REST " WHERE ?1 = '' OR press = ?1"
				  " ORDER BY verified_utc_ns DESC, verification DESC");
	sql_put_text(&sql, press);
	while (more && sql_next(&sql)) {
		take_verification(&sql, &verification, &recorded);
		if (sql.status == STORE_OK)
			forces = load_forces(store, &verification);
		more = sql.status == STORE_OK && forces == STORE_OK &&
		       take(context, &verification, &recorded);
	}
	enum store_status status = sql_finish(&sql);
	return status == STORE_OK ? forces : status;
}

/* STORE_NONE: the press had not been verified by then. */
static enum store_status find_last(struct store *store, const char *press, struct utc_time at,
	struct verification *verification)
{
	struct recorded recorded;
	struct sql sql;

	columns_start_select(&sql, store, columns_verification,
		VERIFICATION_REST " WHERE press = ? AND verified_utc_ns <= ?"
				  " ORDER BY verified_utc_ns DESC, verification DESC LIMIT 1");
	sql_put_text(&sql, press);
	sql_put_integer(&sql, at.ns);
	bool found = sql_next(&sql);
	if (found)
		take_verification(&sql, verification, &recorded);
	return sql_finish_one(&sql, found);
}

static void take_upkeep(struct sql *sql, enum upkeep *upkeep, struct utc_time *happened, char *note)
{
	char kind[STORE_NAME_SIZE];

	sql_take_text(sql, kind, sizeof(kind));
	if (sql->status == STORE_OK && !upkeep_parse(kind, upkeep))
		sql_damaged(sql, "a word that this program does not know");
	happened->ns = sql_take_integer(sql);
	sql_take_text(sql, note, VERIFICATION_TEXT_SIZE);
}

static enum store_status find_break(struct store *store, const char *press, struct utc_time at,
	struct standing_break *broken, char *note)
{
	struct sql sql;

	sql_start(&sql, store,
		"SELECT kind, happened_utc_ns, note FROM upkeep WHERE press = ?"
		" AND happened_utc_ns <= ? AND kind <> 'socket_care'"
		" ORDER BY happened_utc_ns DESC, upkeep DESC LIMIT 1");
	sql_put_text(&sql, press);
	sql_put_integer(&sql, at.ns);
	bool found = sql_next(&sql);
	if (found)
		take_upkeep(&sql, &broken->upkeep, &broken->at, note);
	broken->note = note;
	return sql_finish_one(&sql, found);
}

enum store_status store_standing(
	struct store *store, const char *press, struct utc_time at, struct standing *standing)
{
	struct verification last;
	struct standing_break broken = {.note = ""};
	char note[VERIFICATION_TEXT_SIZE] = "";
	enum store_status found = find_last(store, press, at, &last);

	if (found != STORE_OK && found != STORE_NONE)
		return found;
	enum store_status breaks = find_break(store, press, at, &broken, note);
	if (breaks != STORE_OK && breaks != STORE_NONE)
		return breaks;
	standing_at(standing, found == STORE_OK ? &last : NULL, breaks == STORE_OK ? &broken : NULL,
		at);
	return STORE_OK;
}

/* ---- upkeep */

enum store_status store_upkeep_add(struct store *store, const char *press, enum upkeep upkeep,
	const char *note, struct utc_time happened, const struct actor *actor, struct utc_time now)
{
	struct sql sql;

	assert(store->transaction);
	if (happened.ns > now.ns)
		return sql_error(store, STORE_REFUSED,
			"the date lies in the future: enter what has happened");
	if (strlen(note) >= VERIFICATION_TEXT_SIZE)
		return sql_error(store, STORE_REFUSED, "the note is longer than %d bytes",
			VERIFICATION_TEXT_SIZE - 1);
	sql_start(&sql, store,
		"INSERT INTO upkeep (press, kind, happened_utc_ns, note, at_utc_ns, by_uid, "
		"by_name)"
		" VALUES (?, ?, ?, ?, ?, ?, ?)");
	sql_put_text(&sql, press);
	sql_put_text(&sql, upkeep_text(upkeep));
	sql_put_integer(&sql, happened.ns);
	sql_put_text(&sql, note);
	sql_put_actor(&sql, actor, now);
	enum store_status status = sql_finish(&sql);
	return status == STORE_OK ? seal_add_last(store, SEAL_UPKEEP) : status;
}

enum store_status store_upkeep_each(
	struct store *store, const char *press, store_upkeep_take *take, void *context)
{
	char note[VERIFICATION_TEXT_SIZE];
	struct recorded recorded;
	struct utc_time happened;
	enum upkeep upkeep = UPKEEP_DOUBT;
	bool more = true;
	struct sql sql;

	sql_start(&sql, store,
		"SELECT kind, happened_utc_ns, note, at_utc_ns, by_uid, by_name FROM upkeep"
		" WHERE press = ? ORDER BY happened_utc_ns DESC, upkeep DESC");
	sql_put_text(&sql, press);
	while (more && sql_next(&sql)) {
		take_upkeep(&sql, &upkeep, &happened, note);
		take_recorded(&sql, &recorded);
		more = sql.status == STORE_OK && take(context, upkeep, happened, note, &recorded);
	}
	return sql_finish(&sql);
}

enum store_status store_care_last(struct store *store, const char *press, struct utc_time *last)
{
	struct sql sql;

	last->ns = 0;
	sql_start(&sql, store,
		"SELECT ifnull(max(happened_utc_ns), 0) FROM upkeep"
		" WHERE press = ? AND kind = 'socket_care'");
	sql_put_text(&sql, press);
	if (sql_next(&sql))
		last->ns = sql_take_integer(&sql);
	return sql_finish(&sql);
}

/* ---- zeros */

enum store_status store_zero_add(struct store *store, const struct zero_entry *entry,
	const char *note, const struct actor *actor, struct utc_time now)
{
	struct sql sql;

	assert(store->transaction);
	sql_start(&sql, store,
		"INSERT INTO zero (press, cell, unit, factor_mantissa, factor_exponent, zero_un,"
		" before_un, note, at_utc_ns, by_uid, by_name)"
		" VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
	sql_put_text(&sql, entry->press);
	sql_put_text(&sql, entry->cell);
	sql_put_text(&sql, units_text(entry->scale.unit));
	sql_put_integer(&sql, entry->scale.factor.mantissa);
	sql_put_integer(&sql, entry->scale.factor.exponent);
	sql_put_integer(&sql, entry->scale.zero_un);
	sql_put_integer(&sql, entry->before_un);
	sql_put_text(&sql, note);
	sql_put_actor(&sql, actor, now);
	enum store_status status = sql_finish(&sql);
	return status == STORE_OK ? seal_add_last(store, SEAL_ZERO) : status;
}

enum store_status store_zero_last(
	struct store *store, const char *press, const char *cell, struct zero_entry *entry)
{
	char unit[STORE_NAME_SIZE];
	struct sql sql;

	sql_start(&sql, store,
		"SELECT press, cell, unit, factor_mantissa, factor_exponent, zero_un, before_un"
		" FROM zero WHERE press = ? AND cell = ? ORDER BY zero DESC LIMIT 1");
	sql_put_text(&sql, press);
	sql_put_text(&sql, cell);
	bool found = sql_next(&sql);
	if (found) {
		sql_take_text(&sql, entry->press, sizeof(entry->press));
		sql_take_text(&sql, entry->cell, sizeof(entry->cell));
		sql_take_text(&sql, unit, sizeof(unit));
		entry->scale.factor.mantissa = sql_take_integer(&sql);
		entry->scale.factor.exponent = (int)sql_take_integer(&sql);
		entry->scale.zero_un = sql_take_integer(&sql);
		entry->before_un = sql_take_integer(&sql);
		if (sql.status == STORE_OK && !units_parse(unit, strlen(unit), &entry->scale.unit))
			sql_damaged(&sql, "a unit that this program does not know");
	}
	return sql_finish_one(&sql, found);
}
