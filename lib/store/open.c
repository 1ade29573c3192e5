/* SPDX-License-Identifier: MIT
 *
 * Opening, closing, transactions.
 *
 * One connection writes, kept so by a lock file beside the database: SQLite 3.40.1 loses commits
 * when one connection resets the write-ahead log while another checkpoints it. Every commit is
 * synced (synchronous = FULL): at four a second that costs nothing that anybody notices.
 */
#include "store/doubt.h"
#include "store/schema.h"
#include "store/seal.h"
#include "store/sql.h"

#include "base/text.h"

#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <sodium.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

/* How long to wait for another connection's commit. A commit takes milliseconds; a second one is
 * a stuck disk, which the caller has to hear of. */
enum { BUSY_TIMEOUT_MS = 2000 };

static const char pragmas[] = "PRAGMA foreign_keys = ON;"
			      "PRAGMA trusted_schema = OFF;"
			      "PRAGMA recursive_triggers = ON;"
			      "PRAGMA cell_size_check = ON;"
			      "PRAGMA mmap_size = 0;";
/* The log is cut back to 16 MB once a reader that kept it long has gone. A writer that adds rows at
 * the end needs few pages at a time: it need not hold two megabytes of those it has written. */
static const char pragmas_write[] = "PRAGMA synchronous = FULL;"
				    "PRAGMA cache_size = -256;"
				    "PRAGMA journal_size_limit = 16777216;";

/* A commit writes the newest page of the readings and the newest of their index, whole, whatever
 * little is new in them: with pages of 4096 bytes twice as much. Smaller ones still would cost the
 * audit, which reads every page, more than they save (docs/database.md). A file keeps the size it
 * was made with. */
static const char pragma_new[] = "PRAGMA page_size = 2048";

const char *store_status_text(enum store_status status)
{
	switch (status) {
	case STORE_OK:
		return "done";
	case STORE_NONE:
		return "there is none";
	case STORE_REFUSED:
		return "refused by a rule of the database";
	case STORE_BUSY:
		return "somebody else writes";
	case STORE_FULL:
		return "the disk is full";
	case STORE_IO:
		return "the disk answered with an error";
	case STORE_CORRUPT:
		return "the database is damaged";
	case STORE_NOT_OURS:
		return "no ramplog database";
	case STORE_NEWER:
		return "written by a newer ramplog";
	case STORE_NOT_FOUND:
		return "no such file";
	}
	return "?";
}

const char *store_error(const struct store *store)
{
	return store->error.text;
}

static enum store_status take_lock(struct store *store)
{
	char path[sizeof(store->path) + 8];
	struct text text;

	text_init(&text, path, sizeof(path));
	text_put(&text, store->path);
	text_put(&text, "-lock");
	store->lock = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0640);
	if (store->lock < 0)
		return sql_error(store, STORE_IO,
			"%s: cannot be written: %s: check the folder and its permissions", path,
			strerror(errno));
	if (flock(store->lock, LOCK_EX | LOCK_NB) != 0)
		return sql_error(store, STORE_BUSY,
			"%s: another program has it open for writing (most likely ramplogd): only "
			"one may at a time",
			store->path);
	return STORE_OK;
}

/* An older file is read through a copy that is brought up to date; the file itself stays as it was
 * archived. The copy is SQLite's own temporary file, gone with the connection. */
static enum store_status copy_older(struct store *store, int64_t version)
{
	sqlite3 *copy = NULL;
	int answer = sqlite3_open_v2("", &copy, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, NULL);
	sqlite3_backup *backup =
		answer == SQLITE_OK ? sqlite3_backup_init(copy, "main", store->db, "main") : NULL;

	if (backup) {
		sqlite3_backup_step(backup, -1);
		answer = sqlite3_backup_finish(backup);
	} else if (answer == SQLITE_OK) {
		answer = sqlite3_errcode(copy);
	}
	sql_forget(store);
	sqlite3_close_v2(store->db);
	store->db = copy;
	if (answer != SQLITE_OK)
		return sql_fail(store, answer, "copying an older database to read it");
	enum store_status status = sql_run(store, pragmas);
	return status == STORE_OK ? schema_migrate(store, version) : status;
}

static enum store_status configure(struct store *store)
{
	int64_t version = 0;

	sqlite3_extended_result_codes(store->db, 1);
	sqlite3_busy_timeout(store->db, BUSY_TIMEOUT_MS);
	sqlite3_db_config(store->db, SQLITE_DBCONFIG_DEFENSIVE, 1, NULL);
	enum store_status status = sql_run(store, pragmas);
	if (status == STORE_OK)
		status = schema_check(store, &version);
	if (status != STORE_OK)
		return status;
	if (store->mode == STORE_READ) {
		if (version < SCHEMA_VERSION)
			status = copy_older(store, version);
		return status == STORE_OK ? sql_run(store, "PRAGMA query_only = ON") : status;
	}
	status = doubt_renew_log(store);
	if (status == STORE_OK && version == 0)
		status = sql_run(store, pragma_new);
	/* A property of the file, and not to be set on one that is not ours. */
	if (status == STORE_OK)
		status = sql_run(store, "PRAGMA journal_mode = WAL");
	if (status == STORE_OK)
		status = sql_run(store, pragmas_write);
	return status == STORE_OK ? schema_migrate(store, version) : status;
}

/* A closed database has no -wal and -shm beside it, and SQLite makes them even to read: who may
 * not write in the folder is refused. With no log beside it the file is all there is and can be
 * read as it stands. A writer that starts later would go unnoticed: reading commands are short. */
static bool readable_as_it_stands(const struct store *store)
{
	char wal[sizeof(store->path) + 8];
	struct text text;

	text_init(&text, wal, sizeof(wal));
	text_put(&text, store->path);
	text_put(&text, "-wal");
	return access(wal, F_OK) != 0 && errno == ENOENT && access(store->path, R_OK) == 0;
}

static int open_as_it_stands(struct store *store)
{
	char uri[sizeof(store->path) * 3 + 32];
	struct text text;

	text_init(&text, uri, sizeof(uri));
	text_put(&text, "file:");
	for (const char *byte = store->path; *byte; byte++) {
		if (strchr("?#%", *byte))
			text_format(&text, "%%%02X", (unsigned)(unsigned char)*byte);
		else
			text_put_bytes(&text, byte, 1);
	}
	text_put(&text, "?immutable=1");
	return sqlite3_open_v2(uri, &store->db,
		SQLITE_OPEN_READONLY | SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_URI, NULL);
}

static enum store_status refuse_folder(struct store *store, const struct stat *file)
{
	if (S_ISREG(file->st_mode))
		return STORE_OK;
	return sql_error(
		store, STORE_IO, "%s: a folder or device, not a file: check the path", store->path);
}

static enum store_status open_read(struct store *store)
{
	struct stat file;

	if (stat(store->path, &file) != 0)
		return sql_error(store, errno == ENOENT ? STORE_NOT_FOUND : STORE_IO,
			"%s: %s: check the path; ramplogd makes the file when it first runs",
			store->path, strerror(errno));
	enum store_status status = refuse_folder(store, &file);
	if (status != STORE_OK)
		return status;
	int answer = sqlite3_open_v2(
		store->path, &store->db, SQLITE_OPEN_READONLY | SQLITE_OPEN_NOMUTEX, NULL);
	if (answer != SQLITE_OK)
		return sql_fail(store, answer, "opening");
	status = configure(store);
	if (status != STORE_IO || !readable_as_it_stands(store))
		return status;
	sql_forget(store);
	sqlite3_close_v2(store->db);
	answer = open_as_it_stands(store);
	return answer == SQLITE_OK ? configure(store) : sql_fail(store, answer, "opening");
}

static enum store_status open_write(struct store *store)
{
	struct stat file;
	enum store_status status = STORE_OK;

	if (stat(store->path, &file) == 0)
		status = refuse_folder(store, &file);
	if (status == STORE_OK && store->lock < 0)
		status = take_lock(store);
	if (status != STORE_OK)
		return status;
	int flags = SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_NOMUTEX;
	int answer = sqlite3_open_v2(store->path, &store->db, flags, NULL);
	if (answer != SQLITE_OK)
		return sql_fail(store, answer, "opening");
	status = configure(store);
	if (status == STORE_OK && stat(store->path, &file) == 0) {
		store->device = file.st_dev;
		store->inode = file.st_ino;
	}
	return status;
}

enum store_status store_open(
	struct store **store, const char *path, enum store_mode mode, struct message *why)
{
	struct store *made = calloc(1, sizeof(*made));
	enum store_status status;

	/* Nobody asks how much memory SQLite has, and to count it takes a lock of all threads at
	 * each allocation. Refused once SQLite is in use. */
	sqlite3_config(SQLITE_CONFIG_MEMSTATUS, 0);
	*store = NULL;
	if (!made || sodium_init() < 0) {
		free(made);
		message_set(why, "%s: memory is short", path);
		return STORE_IO;
	}
	made->mode = mode;
	made->lock = -1;
	made->log_in_doubt = true;
	if (strlen(path) >= sizeof(made->path)) {
		status = sql_error(made, STORE_IO, "%.80s...: the path is too long", path);
	} else {
		strcpy(made->path, path);
		status = mode == STORE_WRITE ? open_write(made) : open_read(made);
	}
	if (status == STORE_OK) {
		*store = made;
		return status;
	}
	message_set(why, "%s", made->error.text);
	store_close(made);
	return status;
}

static void disconnect(struct store *store)
{
	store_rollback(store);
	sql_forget(store);
	/* The last connection checkpoints by itself; where somebody reads, do it here. */
	if (store->db && store->mode == STORE_WRITE)
		sqlite3_wal_checkpoint_v2(store->db, NULL, SQLITE_CHECKPOINT_PASSIVE, NULL, NULL);
	sqlite3_close_v2(store->db);
	store->db = NULL;
}

/* Seals made from now on would be signed with a key that this file knows nothing of. */
static enum store_status same_key(struct store *store)
{
	unsigned char public_key[STORE_PUBLIC_KEY_SIZE];
	enum store_status status = STORE_OK;

	if (store->key > 0)
		status = seal_public_key(store, store->key, public_key);
	if (status == STORE_NONE ||
		(status == STORE_OK && store->key > 0 &&
			memcmp(public_key,
				store->secret_key + STORE_SECRET_KEY_SIZE - STORE_PUBLIC_KEY_SIZE,
				sizeof(public_key)) != 0))
		return sql_error(store, STORE_IO,
			"%s: another database was put in its place: put the first one back, or "
			"start anew",
			store->path);
	return status;
}

void store_let_go(struct store *store)
{
	disconnect(store);
	if (store->lock >= 0)
		close(store->lock);
	store->lock = -1;
}

enum store_status store_reopen(struct store *store, struct message *why)
{
	struct stat file;
	enum store_status status = STORE_OK;

	assert(store->mode == STORE_WRITE);
	store_let_go(store);
	/* A new one would lie in the folder on which the file system is to be mounted again. */
	if (stat(store->path, &file) != 0)
		status = sql_error(store, STORE_IO,
			"%s: the file is not there any more (%s): put it back, or mount its file "
			"system",
			store->path, strerror(errno));
	if (status == STORE_OK)
		status = open_write(store);
	if (status == STORE_OK)
		status = same_key(store);
	if (status == STORE_OK)
		status = doubt_settle(store);
	if (status != STORE_OK)
		message_set(why, "%s", store->error.text);
	return status;
}

void store_close(struct store *store)
{
	if (!store)
		return;
	store_let_go(store);
	sodium_memzero(store->secret_key, sizeof(store->secret_key));
	free(store);
}

/* SQLite goes on writing happily into a file that was deleted or renamed under it. */
static enum store_status still_there(struct store *store)
{
	struct stat file;

	if (stat(store->path, &file) == 0 && file.st_dev == store->device &&
		file.st_ino == store->inode)
		return STORE_OK;
	return sql_error(store, STORE_IO,
		"%s: the file was moved, deleted or replaced while in use: put it back",
		store->path);
}

enum store_status store_begin(struct store *store)
{
	assert(store->mode == STORE_WRITE && !store->transaction);
	enum store_status status = still_there(store);
	if (status == STORE_OK)
		status = sql_run(store, "BEGIN IMMEDIATE");
	store->transaction = status == STORE_OK;
	return status;
}

enum store_status store_commit(struct store *store)
{
	assert(store->transaction);
	enum store_status status = doubt_begin(store);
	if (status != STORE_OK)
		return status;
	status = sql_run(store, "COMMIT");
	/* On a full disk it did not come as far as its sync. */
	store->in_doubt = status != STORE_OK && status != STORE_REFUSED && status != STORE_FULL;
	store->log_in_doubt = store->log_in_doubt || store->in_doubt;
	if (status == STORE_OK)
		store->transaction = false;
	return status;
}

void store_rollback(struct store *store)
{
	/* SQLite may have rolled back by itself, on a full disk for one. */
	if (store->transaction && !sqlite3_get_autocommit(store->db))
		sqlite3_exec(store->db, "ROLLBACK", NULL, NULL, NULL);
	store->transaction = false;
	store->policy_number = 0; /* it may have been new */
}
