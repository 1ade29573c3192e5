/* SPDX-License-Identifier: MIT
 *
 * Statements and the meaning of SQLite's answers. Statements are always reset at sql_finish: one
 * left open would hold a snapshot and keep the write-ahead log from being checkpointed.
 */
#include "store/sql.h"

#include <assert.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

struct meaning {
	int answer; /* primary result code */
	enum store_status status;
	const char *advice;
};

static const struct meaning meanings[] = {
	{SQLITE_CONSTRAINT, STORE_REFUSED, "a rule of the database forbids it"},
	{SQLITE_BUSY, STORE_BUSY, "somebody else writes to it; try again"},
	{SQLITE_LOCKED, STORE_BUSY, "somebody else writes to it; try again"},
	{SQLITE_FULL, STORE_FULL, "the disk is full: make room"},
	{SQLITE_READONLY, STORE_IO, "the file or its folder may not be written: check permissions"},
	{SQLITE_CANTOPEN, STORE_IO, "it cannot be opened: check the folder and its permissions"},
	{SQLITE_PERM, STORE_IO, "access was denied: check permissions"},
	{SQLITE_NOMEM, STORE_IO, "memory is short"},
	{SQLITE_CORRUPT, STORE_CORRUPT, "the file is damaged: keep it, restore a backup"},
	{SQLITE_NOTADB, STORE_NOT_OURS, "the file is no database"},
};

enum store_status sql_error(struct store *store, enum store_status status, const char *format, ...)
{
	va_list arguments;

	va_start(arguments, format);
	vsnprintf(store->error.text, sizeof(store->error.text), format, arguments);
	va_end(arguments);
	return status;
}

enum store_status sql_fail(struct store *store, int answer, const char *doing)
{
	enum store_status status = STORE_IO;
	const char *advice = "the disk answered with an error";

	for (size_t i = 0; i < sizeof(meanings) / sizeof(meanings[0]); i++) {
		if (meanings[i].answer == (answer & 0xff)) {
			status = meanings[i].status;
			advice = meanings[i].advice;
		}
	}
	return sql_error(store, status, "%s: %s: %s (SQLite: %s)", store->path, doing, advice,
		sqlite3_errmsg(store->db));
}

enum store_status sql_run(struct store *store, const char *text)
{
	int answer = sqlite3_exec(store->db, text, NULL, NULL, NULL);

	return answer == SQLITE_OK ? STORE_OK : sql_fail(store, answer, "writing");
}

enum store_status sql_integer(struct store *store, const char *text, int64_t *value)
{
	struct sql sql;

	sql_start(&sql, store, text);
	bool found = sql_next(&sql);
	if (found)
		*value = sql_take_integer(&sql);
	return sql_finish_one(&sql, found);
}

static sqlite3_stmt *find_idle(const struct store *store, const char *text, size_t length)
{
	for (size_t i = 0; i < store->cache_count; i++) {
		sqlite3_stmt *statement = store->cache[i].statement;
		if (store->cache[i].length == length &&
			memcmp(sqlite3_sql(statement), text, length) == 0 &&
			!sqlite3_stmt_busy(statement))
			return statement;
	}
	return NULL;
}

void sql_forget(struct store *store)
{
	for (size_t i = 0; i < store->cache_count; i++)
		sqlite3_finalize(store->cache[i].statement);
	store->cache_count = 0;
}

void sql_start(struct sql *sql, struct store *store, const char *text)
{
	*sql = (struct sql){.store = store, .status = STORE_OK};
	size_t length = strlen(text);
	sql->statement = find_idle(store, text, length);
	if (sql->statement)
		return;
	unsigned flags = SQLITE_PREPARE_PERSISTENT;
	int answer = sqlite3_prepare_v3(store->db, text, -1, flags, &sql->statement, NULL);
	if (answer != SQLITE_OK) {
		sql->statement = NULL;
		sql->status = sql_fail(store, answer, "reading its tables");
	} else if (store->cache_count < SQL_CACHE_SIZE) {
		store->cache[store->cache_count].statement = sql->statement;
		store->cache[store->cache_count++].length = length;
	} else {
		sql->owned = true;
	}
}

static void note(struct sql *sql, int answer)
{
	if (answer == SQLITE_OK || sql->status != STORE_OK)
		return;
	bool writes = !sqlite3_stmt_readonly(sql->statement);
	sql->status = sql_fail(sql->store, answer, writes ? "writing" : "reading");
}

void sql_put_integer(struct sql *sql, int64_t value)
{
	if (sql->status == STORE_OK)
		note(sql, sqlite3_bind_int64(sql->statement, ++sql->parameter, value));
}

void sql_put_real(struct sql *sql, double value)
{
	/* SQLite would turn it into NULL without a word. */
	assert(!isnan(value));
	if (sql->status == STORE_OK)
		note(sql, sqlite3_bind_double(sql->statement, ++sql->parameter, value));
}

void sql_put_text(struct sql *sql, const char *text)
{
	if (sql->status == STORE_OK)
		note(sql, sqlite3_bind_text(
				  sql->statement, ++sql->parameter, text, -1, SQLITE_STATIC));
}

void sql_put_blob(struct sql *sql, const void *bytes, size_t size)
{
	if (sql->status == STORE_OK)
		note(sql, sqlite3_bind_blob64(
				  sql->statement, ++sql->parameter, bytes, size, SQLITE_STATIC));
}

void sql_put_null(struct sql *sql)
{
	if (sql->status == STORE_OK)
		note(sql, sqlite3_bind_null(sql->statement, ++sql->parameter));
}

void sql_put_actor(struct sql *sql, const struct actor *actor, struct utc_time now)
{
	sql_put_integer(sql, now.ns);
	sql_put_integer(sql, actor->uid);
	sql_put_text(sql, actor->name);
}

bool sql_next(struct sql *sql)
{
	if (sql->status != STORE_OK)
		return false;
	sql->column = 0;
	int answer = sqlite3_step(sql->statement);
	if (answer == SQLITE_ROW)
		return true;
	note(sql, answer == SQLITE_DONE ? SQLITE_OK : answer);
	return false;
}

/* The next column, if it holds what is expected of it. */
static int next_column(struct sql *sql, int type)
{
	if (sql->status != STORE_OK)
		return -1;
	int column = sql->column++;
	if (sqlite3_column_type(sql->statement, column) == type)
		return column;
	sql_damaged(sql, "a value of another type");
	return -1;
}

bool sql_next_is_null(struct sql *sql)
{
	if (sql->status != STORE_OK ||
		sqlite3_column_type(sql->statement, sql->column) != SQLITE_NULL)
		return false;
	sql->column++;
	return true;
}

int64_t sql_take_integer(struct sql *sql)
{
	int column = next_column(sql, SQLITE_INTEGER);

	return column < 0 ? 0 : sqlite3_column_int64(sql->statement, column);
}

double sql_take_real(struct sql *sql)
{
	int column = next_column(sql, SQLITE_FLOAT);

	return column < 0 ? 0 : sqlite3_column_double(sql->statement, column);
}

void sql_take_text(struct sql *sql, char *text, size_t size)
{
	int column = next_column(sql, SQLITE_TEXT);

	memset(text, 0, size);
	if (column < 0)
		return;
	const char *found = (const char *)sqlite3_column_text(sql->statement, column);
	size_t length = (size_t)sqlite3_column_bytes(sql->statement, column);
	if (!found || length >= size || memchr(found, 0, length))
		sql_damaged(sql, "a text longer than any that is written");
	else
		memcpy(text, found, length);
}

const unsigned char *sql_take_blob(struct sql *sql, size_t *size)
{
	int column = next_column(sql, SQLITE_BLOB);

	*size = 0;
	if (column < 0)
		return NULL;
	const unsigned char *bytes = sqlite3_column_blob(sql->statement, column);
	*size = (size_t)sqlite3_column_bytes(sql->statement, column);
	return bytes;
}

void sql_damaged(struct sql *sql, const char *what)
{
	if (sql->status != STORE_OK)
		return;
	const char *name = sqlite3_column_name(sql->statement, sql->column - 1);
	sql->status = sql_error(sql->store, STORE_CORRUPT,
		"%s: column %s holds %s: the file was changed or is damaged; run the audit",
		sql->store->path, name ? name : "?", what);
}

enum store_status sql_finish(struct sql *sql)
{
	if (!sql->statement)
		return sql->status;
	if (!sqlite3_stmt_busy(sql->statement) && sqlite3_column_count(sql->statement) == 0)
		while (sql_next(sql))
			;
	sqlite3_reset(sql->statement);
	sqlite3_clear_bindings(sql->statement);
	if (sql->owned)
		sqlite3_finalize(sql->statement);
	sql->statement = NULL;
	return sql->status;
}

enum store_status sql_finish_one(struct sql *sql, bool found)
{
	enum store_status status = sql_finish(sql);

	return status == STORE_OK && !found ? STORE_NONE : status;
}
