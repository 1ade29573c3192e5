/* SPDX-License-Identifier: MIT
 *
 * Inside of the store: one connection, and statements as a person reads them: start, put the
 * parameters, take the rows, finish. The first thing that goes wrong sticks; every call after it
 * does nothing, so that only sql_finish needs to be looked at.
 *
 * Prepared statements are kept by their text and used again; a statement that is still running (a
 * caller's callback asks the store something) gets a second one for the time being.
 */
#ifndef STORE_SQL_H
#define STORE_SQL_H

#include "store/chunk.h"
#include "store/store.h"

#include <sqlite3.h>
#include <sys/types.h>

enum {
	SQL_TEXT_SIZE = 2048, /* longest statement that the store generates */
	SQL_CACHE_SIZE = 192, /* more statements than the store has */
};

/* How far the tables have come that every transaction adds to: to one of them at least. */
struct store_mark {
	int64_t run, chunk, seal;
};

struct store {
	sqlite3 *db;
	enum store_mode mode;
	int lock;    /* descriptor of the lock file; -1 when reading */
	int64_t key; /* which key on record signs; 0: none was taken yet */
	unsigned char secret_key[STORE_SECRET_KEY_SIZE];
	bool transaction;       /* between store_begin and its end */
	struct store_mark mark; /* where the last commit leads */
	bool in_doubt;          /* it failed */
	bool came_through;      /* it is there all the same */
	bool log_in_doubt;      /* not every sync of it is known to have succeeded */
	dev_t device;           /* which file was opened, to notice when it is moved away */
	ino_t inode;
	struct message error;
	struct {
		sqlite3_stmt *statement;
		size_t length; /* of its text */
	} cache[SQL_CACHE_SIZE];
	size_t cache_count;
	int64_t policy_number; /* the set of thresholds that was read last; 0: none */
	struct policy policy;
	unsigned char blob[CHUNK_SIZE_MAX]; /* where a chunk is encoded */
	char path[STORE_PATH_SIZE * 4];
};

struct sql {
	struct store *store;
	sqlite3_stmt *statement;
	enum store_status status;
	int parameter; /* last one put */
	int column;    /* last one taken */
	bool owned;    /* not in the cache */
};

/* Gives the status for an answer of SQLite that is an error and notes what was being done. */
enum store_status sql_fail(struct store *store, int answer, const char *doing);
/* Notes the text (printf form) as the store's error and returns the status. */
enum store_status sql_error(struct store *store, enum store_status status, const char *format, ...)
	__attribute__((format(printf, 3, 4)));
/* Runs text that gives no rows worth looking at; not cached. */
enum store_status sql_run(struct store *store, const char *text);
/* First column of the first row, which is an integer; STORE_NONE without a row. */
enum store_status sql_integer(struct store *store, const char *text, int64_t *value);

/* Drops the statements that are kept; none of them may be running. */
void sql_forget(struct store *store);
void sql_start(struct sql *sql, struct store *store, const char *text);
void sql_put_integer(struct sql *sql, int64_t value);
void sql_put_real(struct sql *sql, double value);
/* The bytes must stay until sql_finish. */
void sql_put_text(struct sql *sql, const char *text);
void sql_put_blob(struct sql *sql, const void *bytes, size_t size);
void sql_put_null(struct sql *sql);
/* When, and who: at_utc_ns, by_uid, by_name. */
void sql_put_actor(struct sql *sql, const struct actor *actor, struct utc_time now);
/* True: there is a row, take its columns in order. False: no more, or something went wrong. */
bool sql_next(struct sql *sql);
int64_t sql_take_integer(struct sql *sql);
double sql_take_real(struct sql *sql);
/* A text too long for the buffer, or with a NUL inside, is damage: STORE_CORRUPT. */
void sql_take_text(struct sql *sql, char *text, size_t size);
/* The next column holds nothing; it is passed over. */
bool sql_next_is_null(struct sql *sql);
/* The bytes are SQLite's and gone with the next call. */
const unsigned char *sql_take_blob(struct sql *sql, size_t *size);
/* Marks a row as damaged: the text says which value is impossible. */
void sql_damaged(struct sql *sql, const char *what);
/* Runs the statement to its end where sql_next was not called; gives the sticky status. */
enum store_status sql_finish(struct sql *sql);
/* Takes the first row's columns through sql_next and then sql_finish: STORE_NONE without a row.
 * For statements that give one row: call it once the columns were taken. */
enum store_status sql_finish_one(struct sql *sql, bool found);

#endif
