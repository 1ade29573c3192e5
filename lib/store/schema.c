/* SPDX-License-Identifier: MIT
 *
 * Which version a file has, and the steps that bring it up to this program's. The tables themselves
 * are made in schema_1.c and its like.
 *
 * Triggers stop accidents; who can drop them is found out by the seals.
 */
#include "store/schema.h"

#include "store/schema_steps.h"

#include "base/text.h"

#include <assert.h>
#include <sodium.h>
#include <string.h>

/* A trigger that refuses; from and where say when, NULL: always. */
static void put_trigger(struct text *text, const char *table, const char *event, const char *name,
	const char *from, const char *where, const char *message)
{
	text_format(text, "CREATE TRIGGER %s_%s BEFORE %s ON %s", table, name, event, table);
	if (from)
		text_format(text, " WHEN EXISTS (SELECT 1 FROM %s WHERE %s)", from, where);
	text_format(text, " BEGIN SELECT RAISE(ABORT, '%s: %s'); END;", table, message);
}

/* Without the trigger before INSERT a REPLACE would forge a row on any connection that has not
 * switched recursive triggers on. */
enum store_status schema_guard(struct store *store, const struct schema_guard *guard)
{
	const char *table = guard->table;
	char buffer[SQL_TEXT_SIZE];
	struct text text;

	text_init(&text, buffer, sizeof(buffer));
	put_trigger(&text, table, "UPDATE", "no_update", NULL, NULL, "rows are never changed");
	put_trigger(&text, table, "DELETE", "no_delete", NULL, NULL, "rows are never deleted");
	put_trigger(&text, table, "INSERT", "no_replace", table, guard->collides,
		"there is such a row already");
	if (guard->sealed)
		put_trigger(&text, table, "INSERT", "no_late", "seal", "run = NEW.run",
			"the run is closed");
	assert(!text.overflow);
	return sql_run(store, buffer);
}

/* steps[n] takes a database of version n to version n + 1. */
static enum store_status (*const steps[SCHEMA_VERSION])(struct store *) = {
	schema_step_1,
	schema_step_2,
	schema_step_3,
	schema_step_4,
	schema_step_5,
	schema_step_6,
	schema_step_7,
};

static enum store_status step(struct store *store, int64_t from)
{
	char text[96];
	struct text pragmas;

	text_init(&pragmas, text, sizeof(text));
	text_put(&pragmas, "PRAGMA application_id = ");
	text_integer(&pragmas, SCHEMA_APPLICATION_ID);
	text_put(&pragmas, "; PRAGMA user_version = ");
	text_integer(&pragmas, from + 1);
	assert(!pragmas.overflow);
	enum store_status status = steps[from](store);
	return status == STORE_OK ? sql_run(store, text) : status;
}

enum store_status schema_check(struct store *store, int64_t *version)
{
	int64_t id = 0, objects = 0;
	enum store_status status = sql_integer(store, "PRAGMA application_id", &id);

	if (status == STORE_OK)
		status = sql_integer(store, "PRAGMA user_version", version);
	if (status == STORE_OK)
		status = sql_integer(store, "SELECT count(*) FROM sqlite_schema", &objects);
	if (status != STORE_OK)
		return status;
	bool empty = id == 0 && *version == 0 && objects == 0;
	if (!(empty && store->mode == STORE_WRITE) && (id != SCHEMA_APPLICATION_ID || *version < 1))
		return sql_error(store, STORE_NOT_OURS, "%s: %s: check the path", store->path,
			empty ? "an empty database, not one made by ramplog"
			      : "a SQLite database, but not one of ramplog");
	if (*version > SCHEMA_VERSION)
		return sql_error(store, STORE_NEWER,
			"%s: written by a newer ramplog (database version %lld, this program knows "
			"%d): use the newer program; the file was not touched",
			store->path, (long long)*version, SCHEMA_VERSION);
	return STORE_OK;
}

enum store_status schema_migrate(struct store *store, int64_t version)
{
	if (version == SCHEMA_VERSION)
		return STORE_OK;
	/* All steps or none, and one sync for a new database. */
	enum store_status status = sql_run(store, "BEGIN IMMEDIATE");
	if (status != STORE_OK)
		return status;
	for (; version < SCHEMA_VERSION && status == STORE_OK; version++)
		status = step(store, version);
	if (status == STORE_OK)
		status = sql_run(store, "COMMIT");
	if (status != STORE_OK)
		sqlite3_exec(store->db, "ROLLBACK", NULL, NULL, NULL); /* the first error counts */
	return status;
}

/* BLAKE2b of everything that the steps make; `store schema` says what it is where it is another. */
static const char made[] = "f28ed1b5232bf1834c7b3b35b8ea898587b70d838a436018b00875a3cce226dc";

enum store_status schema_digest(struct store *store, char text[SCHEMA_DIGEST_SIZE])
{
	crypto_generichash_state state;
	unsigned char hash[(SCHEMA_DIGEST_SIZE - 1) / 2];
	struct sql sql;

	crypto_generichash_init(&state, NULL, 0, sizeof(hash));
	/* What ANALYZE leaves is no part of it. */
	sql_start(&sql, store,
		"SELECT CAST(type || quote(name) || quote(sql) AS BLOB)"
		" FROM main.sqlite_schema WHERE name NOT LIKE 'sqlite_stat%'"
		" ORDER BY type, name");
	while (sql_next(&sql)) {
		size_t size;
		const unsigned char *bytes = sql_take_blob(&sql, &size);
		if (bytes)
			crypto_generichash_update(&state, bytes, size);
	}
	crypto_generichash_final(&state, hash, sizeof(hash));
	sodium_bin2hex(text, SCHEMA_DIGEST_SIZE, hash, sizeof(hash));
	return sql_finish(&sql);
}

enum store_status schema_is_as_made(struct store *store, bool *as_made)
{
	char text[SCHEMA_DIGEST_SIZE];
	enum store_status status = schema_digest(store, text);

	*as_made = status == STORE_OK && strcmp(text, made) == 0;
	return status;
}
