/* SPDX-License-Identifier: MIT
 *
 * Specimens as registered, which one sits in which press, and what the technician saw afterwards.
 */
#include "result/fracture.h"
#include "store/columns.h"
#include "store/seal.h"
#include "store/sql.h"

#include <assert.h>
#include <pwd.h>
#include <stdio.h>
#include <stdlib.h>

void store_actor(uint32_t uid, struct actor *actor)
{
	struct passwd entry, *found = NULL;
	char buffer[1024];

	*actor = (struct actor){.uid = uid};
	if (getpwuid_r(uid, &entry, buffer, sizeof(buffer), &found) == 0 && found)
		snprintf(actor->name, sizeof(actor->name), "%.*s", STORE_NAME_SIZE - 1,
			found->pw_name);
	else
		snprintf(actor->name, sizeof(actor->name), "uid %lu", (unsigned long)uid);
}

enum store_status store_specimen_add(struct store *store, const struct specimen *specimen,
	const struct actor *actor, struct utc_time now)
{
	struct specimen found;
	struct sql sql;

	assert(store->transaction);
	enum store_status status = store_specimen_find(store, specimen->id, &found);
	if (status == STORE_OK)
		return sql_error(store, STORE_REFUSED,
			"specimen %s is registered already: choose another name", specimen->id);
	if (status != STORE_NONE)
		return status;
	columns_start_insert(
		&sql, store, "specimen", "at_utc_ns, by_uid, by_name", columns_specimen);
	sql_put_actor(&sql, actor, now);
	columns_put(&sql, columns_specimen, specimen);
	status = sql_finish(&sql);
	return status == STORE_OK ? seal_add_last(store, SEAL_SPECIMEN) : status;
}

enum store_status store_due_each(struct store *store, store_due_take *take, void *context)
{
	enum store_status status = STORE_OK;
	struct due_row row;
	bool more = true;
	struct sql sql;

	columns_start_select(&sql, store, columns_specimen,
		", intended_age_ns FROM (SELECT *,"
		" (SELECT intended_age_ns FROM specimen_detail WHERE specimen_detail.specimen ="
		"  specimen.specimen ORDER BY number DESC LIMIT 1) AS intended_age_ns"
		" FROM specimen WHERE NOT EXISTS"
		" (SELECT 1 FROM run_specimen JOIN run_outcome USING (run)"
		"  WHERE run_specimen.specimen = specimen.specimen AND ending <> 'no_load')"
		" AND NOT EXISTS (SELECT 1 FROM corrected_specimen"
		"  WHERE corrected_specimen.specimen = specimen.specimen))"
		" WHERE intended_age_ns > 0"
		" ORDER BY cast_utc_ns + intended_age_ns, specimen");
	while (more && sql_next(&sql)) {
		columns_take(&sql, columns_specimen, &row.specimen);
		row.intended_age_ns = sql_take_integer(&sql);
		if (sql.status == STORE_OK)
			status = store_specimen_find(store, row.specimen.id, &row.specimen);
		more = sql.status == STORE_OK && status == STORE_OK;
		if (more && row.specimen.cast.ns > 0)
			more = take(context, &row);
	}
	enum store_status end = sql_finish(&sql);
	return end == STORE_OK ? status : end;
}

enum store_status store_specimen_find(
	struct store *store, const char *id, struct specimen *specimen)
{
	/* The latest correction, else the data as registered. */
	static const char *const places[] = {
		"FROM specimen_correction WHERE specimen = ? ORDER BY correction DESC LIMIT 1",
		"FROM specimen WHERE specimen = ?"};
	enum store_status status = STORE_NONE;
	struct sql sql;

	for (size_t i = 0; i < 2 && status == STORE_NONE; i++) {
		columns_start_select(&sql, store, columns_specimen, places[i]);
		sql_put_text(&sql, id);
		bool found = sql_next(&sql);
		if (found)
			columns_take(&sql, columns_specimen, specimen);
		status = sql_finish_one(&sql, found);
	}
	return status;
}

enum store_status store_specimen_recorded(
	struct store *store, const char *id, struct recorded *recorded)
{
	struct sql sql;

	sql_start(
		&sql, store, "SELECT at_utc_ns, by_uid, by_name FROM specimen WHERE specimen = ?");
	sql_put_text(&sql, id);
	bool found = sql_next(&sql);
	if (found) {
		recorded->at.ns = sql_take_integer(&sql);
		recorded->by.uid = (uint32_t)sql_take_integer(&sql);
		sql_take_text(&sql, recorded->by.name, sizeof(recorded->by.name));
	}
	return sql_finish_one(&sql, found);
}

enum store_status store_registered_each(
	struct store *store, struct utc_time from, store_id_take *take, void *context)
{
	bool more = true;
	struct sql sql;

	/* Numbers rise with the time: no row before the first that is too early is read. */
	sql_start(&sql, store, "SELECT at_utc_ns, specimen FROM specimen ORDER BY number DESC");
	while (more && sql_next(&sql)) {
		char id[SPECIMEN_NAME_SIZE];
		bool late = sql_take_integer(&sql) >= from.ns;
		sql_take_text(&sql, id, sizeof(id));
		more = sql.status == STORE_OK && late && take(context, id);
	}
	return sql_finish(&sql);
}

enum store_status store_seat(struct store *store, const char *press, const char *specimen_id,
	const struct actor *actor, struct utc_time now)
{
	struct specimen found;
	struct sql sql;

	assert(store->transaction);
	enum store_status status = store_specimen_find(store, specimen_id, &found);
	if (status == STORE_NONE)
		return sql_error(store, STORE_NONE,
			"specimen %s is not registered: register it first", specimen_id);
	if (status != STORE_OK)
		return status;
	sql_start(&sql, store,
		"INSERT INTO seat (press, specimen, at_utc_ns, by_uid, by_name)"
		" VALUES (?, ?, ?, ?, ?)");
	sql_put_text(&sql, press);
	sql_put_text(&sql, specimen_id);
	sql_put_actor(&sql, actor, now);
	status = sql_finish(&sql);
	return status == STORE_OK ? seal_add_last(store, SEAL_SEAT) : status;
}

enum store_status store_seated(struct store *store, const char *press, struct specimen *specimen)
{
	char id[SPECIMEN_NAME_SIZE];
	struct sql sql;

	/* Only the newest seat of a press counts: an older one was replaced or used. */
	sql_start(&sql, store,
		"SELECT specimen FROM seat WHERE seat ="
		" (SELECT max(seat) FROM seat WHERE press = ?)"
		" AND NOT EXISTS (SELECT 1 FROM run WHERE run.seat = seat.seat)");
	sql_put_text(&sql, press);
	bool found = sql_next(&sql);
	if (found)
		sql_take_text(&sql, id, sizeof(id));
	enum store_status status = sql_finish_one(&sql, found);
	return status == STORE_OK ? store_specimen_find(store, id, specimen) : status;
}

/* The method that judged the run must know the type, and for a beam where it cracked. */
static enum store_status check_fracture(
	struct store *store, int64_t run, int type, int64_t crack_um)
{
	struct run_record *record = calloc(1, sizeof(*record));
	struct message why;

	if (!record)
		return sql_error(store, STORE_IO, "memory is short");
	enum store_status status = store_run_load(store, run, record);
	const struct method *method = record->start.judged_by;
	if (status == STORE_OK && method &&
		!fracture_check(method, &record->start.specimen, type, crack_um, &why))
		status = sql_error(store, STORE_REFUSED, "run %lld: %s", (long long)run, why.text);
	free(record);
	return status;
}

enum store_status store_fracture_add(struct store *store, int64_t run, int type, const char *note,
	const struct actor *actor, struct utc_time now)
{
	return store_fracture_crack_add(store, run, type, 0, note, actor, now);
}

enum store_status store_fracture_crack_add(struct store *store, int64_t run, int type,
	int64_t crack_um, const char *note, const struct actor *actor, struct utc_time now)
{
	struct sql sql;
	int64_t closed = 0;

	assert(store->transaction);
	if (type < 1 || type > 6)
		return sql_error(store, STORE_REFUSED, "fracture type %d: types are 1 to 6", type);
	sql_start(&sql, store,
		"SELECT EXISTS (SELECT 1 FROM run_outcome WHERE run = ?1) FROM run WHERE run = ?1");
	sql_put_integer(&sql, run);
	bool found = sql_next(&sql);
	if (found)
		closed = sql_take_integer(&sql);
	enum store_status status = sql_finish_one(&sql, found);
	if (status == STORE_NONE)
		return sql_error(store, STORE_NONE, "there is no run %lld", (long long)run);
	if (status != STORE_OK)
		return status;
	if (!closed)
		return sql_error(store, STORE_REFUSED,
			"run %lld is not over yet: enter the fracture when it is", (long long)run);
	status = check_fracture(store, run, type, crack_um);
	if (status != STORE_OK)
		return status;
	sql_start(&sql, store,
		"INSERT INTO fracture (run, type, crack_um, note, at_utc_ns, by_uid, by_name)"
		" VALUES (?, ?, ?, ?, ?, ?, ?)");
	sql_put_integer(&sql, run);
	sql_put_integer(&sql, type);
	sql_put_integer(&sql, crack_um);
	sql_put_text(&sql, note);
	sql_put_actor(&sql, actor, now);
	status = sql_finish(&sql);
	return status == STORE_OK ? seal_add_last(store, SEAL_FRACTURE) : status;
}
