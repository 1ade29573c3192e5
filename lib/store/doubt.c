/* SPDX-License-Identifier: MIT
 *
 * A commit whose sync failed is undone in the process that made it, but it stands in the log. Where
 * the log could not be cleared away afterwards (the disk still refuses; the process was killed),
 * whoever opens the database next finds it there and takes it for whole. That is right, and two
 * things follow.
 *
 * It must not be written once more: the tables say whether it is there.
 *
 * And it may be in the kernel's memory alone. A kernel that could not write a page marks it as
 * written and says so once: the next sync succeeds and does nothing. A database that was filled
 * from such a log, and commits behind it, would not outlive a power cut. So all of the log is
 * written again over itself, and synced, before anything is built on it. Costs: as much as a
 * checkpoint, and only where somebody did not close the database, or a commit failed here. Not
 * where the disk is full: then the log may be most of what is on it, and the commit is not whole
 * there.
 */
#include "store/doubt.h"

#include <string.h>

/* ---- is it there? */

static enum store_status read_mark(struct store *store, struct store_mark *mark)
{
	struct sql sql;

	sql_start(&sql, store,
		"SELECT ifnull((SELECT max(run) FROM run), 0),"
		" ifnull((SELECT max(number) FROM chunk), 0),"
		" ifnull((SELECT max(seal) FROM seal), 0)");
	bool found = sql_next(&sql);
	mark->run = sql_take_integer(&sql);
	mark->chunk = sql_take_integer(&sql);
	mark->seal = sql_take_integer(&sql);
	return sql_finish_one(&sql, found);
}

enum store_status doubt_begin(struct store *store)
{
	return read_mark(store, &store->mark);
}

enum store_status doubt_settle(struct store *store)
{
	struct store_mark mark;

	store->came_through = false;
	if (!store->in_doubt)
		return STORE_OK;
	enum store_status status = read_mark(store, &mark);
	store->came_through = status == STORE_OK && mark.run == store->mark.run &&
			      mark.chunk == store->mark.chunk && mark.seal == store->mark.seal;
	return status;
}

bool store_came_through(const struct store *store)
{
	return store->came_through;
}

/* ---- is it on the disk? */

/* SQLite's own file of the log; NULL: there is none. Through its own way to files, so that what
 * stands in for a disk in a test sees it. */
static sqlite3_file *log_file(struct store *store)
{
	sqlite3_file *file = NULL;

	sqlite3_file_control(store->db, "main", SQLITE_FCNTL_JOURNAL_POINTER, &file);
	return file && file->pMethods ? file : NULL;
}

static int write_again(sqlite3_file *log, sqlite3_int64 size)
{
	unsigned char bytes[16 * 1024];
	int answer = SQLITE_OK;

	for (sqlite3_int64 at = 0; at < size && answer == SQLITE_OK;) {
		int length = size - at < (sqlite3_int64)sizeof(bytes) ? (int)(size - at)
								      : (int)sizeof(bytes);

		answer = log->pMethods->xRead(log, bytes, length, at);
		if (answer == SQLITE_OK)
			answer = log->pMethods->xWrite(log, bytes, length, at);
		at += length;
	}
	return answer == SQLITE_OK ? log->pMethods->xSync(log, SQLITE_SYNC_FULL) : answer;
}

enum store_status doubt_renew_log(struct store *store)
{
	sqlite3_int64 size = 0;

	if (!store->log_in_doubt)
		return STORE_OK;
	sqlite3_file *log = log_file(store);
	store->log_in_doubt = false;
	if (!log)
		return STORE_OK;
	int answer = log->pMethods->xFileSize(log, &size);
	if (answer == SQLITE_OK && size > 0)
		answer = write_again(log, size);
	if (answer == SQLITE_OK)
		return STORE_OK;
	store->log_in_doubt = true;
	return sql_error(store, STORE_IO, "%s-wal: cannot be synced: see to the disk (SQLite: %s)",
		store->path, sqlite3_errstr(answer));
}
