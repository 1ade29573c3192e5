/* SPDX-License-Identifier: MIT
 *
 * A copy of the whole database while others write to it: one snapshot, held from the first page to
 * the last, so that what the copy holds is what there was at one moment. It is written beside its
 * name and verified there; only then does it take the name, and the older copy goes.
 *
 * Cost: the log of the database cannot be cut back while the copy is made.
 */
#include "store/backup.h"

#include "store/audit.h"
#include "store/sql.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum {
	STEP_PAGES = 2000, /* 8 MB: a few dozen looks at the clock a second */
	OPEN_RUNS_MAX = 64 /* more than there are presses; the daemon closes what it finds open */
};

struct backup {
	struct store *store;
	const struct backup_hooks *hooks;
	char part[STORE_PATH_SIZE * 4];
	struct message *why;
};

static enum store_status fail(struct backup *backup, const char *what, int error)
{
	message_set(backup->why, "%s: %s: %s", backup->part, what, strerror(error));
	return STORE_IO;
}

static bool go_on(void *context, size_t done, size_t total)
{
	const struct backup_hooks *hooks = context;

	return !hooks->progress || hooks->progress(hooks->context, done, total);
}

/* STORE_NONE: it was stopped. */
static enum store_status copy_pages(struct backup *backup, sqlite3 *copy)
{
	sqlite3_backup *pages = sqlite3_backup_init(copy, "main", backup->store->db, "main");
	bool stopped = false;
	int answer = SQLITE_OK;

	while (pages && answer == SQLITE_OK && !stopped) {
		answer = sqlite3_backup_step(pages, STEP_PAGES);
		size_t total = (size_t)sqlite3_backup_pagecount(pages);
		size_t left = (size_t)sqlite3_backup_remaining(pages);
		stopped = !go_on((void *)backup->hooks, total - left, total);
	}
	bool whole = answer == SQLITE_DONE;
	answer = pages ? sqlite3_backup_finish(pages) : sqlite3_errcode(copy);
	if (stopped && !whole)
		return STORE_NONE;
	/* A copy is one file: no log beside it. */
	if (answer == SQLITE_OK)
		answer = sqlite3_exec(copy, "PRAGMA journal_mode = DELETE", NULL, NULL, NULL);
	if (answer == SQLITE_OK)
		return STORE_OK;
	message_set(backup->why, "%s: copying: %s", backup->part, sqlite3_errmsg(copy));
	return STORE_IO;
}

static enum store_status write_part(struct backup *backup)
{
	sqlite3 *copy = NULL;
	int flags = SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE;
	int answer = sqlite3_open_v2(backup->part, &copy, flags, NULL);
	enum store_status status = STORE_OK;

	if (answer != SQLITE_OK) {
		message_set(backup->why, "%s: %s: check the folder and its permissions",
			backup->part, sqlite3_errmsg(copy));
		status = STORE_IO;
	}
	if (status == STORE_OK) {
		/* One statement that reads begins the snapshot, which the copying then shares. */
		status = sql_run(backup->store, "BEGIN; SELECT count(*) FROM sqlite_schema");
		if (status != STORE_OK)
			message_set(backup->why, "%s", store_error(backup->store));
	}
	if (status == STORE_OK)
		status = copy_pages(backup, copy);
	sqlite3_exec(backup->store->db, "ROLLBACK", NULL, NULL, NULL);
	sqlite3_close_v2(copy);
	return status;
}

static enum store_status sync_path(struct backup *backup, const char *path, int flags)
{
	int descriptor = open(path, flags | O_CLOEXEC);
	bool ok = descriptor >= 0 && fsync(descriptor) == 0;
	int error = errno;

	if (descriptor >= 0)
		close(descriptor);
	return ok ? STORE_OK : fail(backup, "it cannot be synced", error);
}

static void note_finding(void *context, const struct audit_finding *finding)
{
	struct backup *backup = context;

	if (!backup->why->text[0] && finding->kind != AUDIT_UNCLOSED)
		message_set(backup->why, "%s: the copy does not hold: %s: %s is %s", backup->part,
			finding->place, finding->field, finding->stored);
}

static bool look_up(void *context, size_t done, size_t total)
{
	struct backup *backup = context;

	return go_on((void *)backup->hooks, done, total);
}

static bool pass_over(void *context, size_t cell, const struct reading *reading)
{
	(void)context, (void)cell, (void)reading;
	return true;
}

/* No seal covers a run that is being written: its chunks have checks of their own. */
static enum store_status read_open_runs(struct store *copy)
{
	int64_t runs[OPEN_RUNS_MAX];
	size_t count = 0;
	enum store_status status = store_runs_unclosed(copy, runs, OPEN_RUNS_MAX, &count);

	for (size_t i = 0; i < count && i < OPEN_RUNS_MAX && status == STORE_OK; i++)
		status = store_readings_each(copy, runs[i], pass_over, NULL);
	return status;
}

static bool same_signature(struct sql *one, struct sql *other)
{
	size_t size, other_size;
	bool same = sql_take_integer(one) == sql_take_integer(other);
	const unsigned char *bytes = sql_take_blob(one, &size);
	const unsigned char *other_bytes = sql_take_blob(other, &other_size);

	return same && size == other_size && (size == 0 || memcmp(bytes, other_bytes, size) == 0);
}

/* A signature is in no hash: a byte of it that went wrong on the way shows only beside the database
 * itself. Whether it was good there is the audit's question. */
static enum store_status compare_signatures(struct backup *backup, struct store *copy, int64_t last)
{
	static const char text[] = "SELECT seal, ifnull(signature, x'') FROM seal WHERE seal <= ?"
				   " ORDER BY seal";
	struct sql one, other;
	int64_t seal = 0;
	bool same = true;

	sql_start(&one, backup->store, text);
	sql_put_integer(&one, last);
	sql_start(&other, copy, text);
	sql_put_integer(&other, last);
	for (; same && sql_next(&one) && sql_next(&other); seal++)
		same = same_signature(&one, &other);
	enum store_status status = sql_finish(&one);
	enum store_status copied = sql_finish(&other);
	if (status != STORE_OK)
		message_set(backup->why, "%s", store_error(backup->store));
	if (status != STORE_OK || copied != STORE_OK || same)
		return status == STORE_OK ? copied : status;
	message_set(backup->why,
		"%s: the copy does not hold: the signature of seal %lld is another than in the "
		"database",
		backup->part, (long long)seal);
	return STORE_CORRUPT;
}

/* Every seal over every row; of the signatures the newest, whose seal the links tie to all others.
 */
static enum store_status verify_seals(struct backup *backup, struct store *copy,
	const struct audit_hooks *hooks, struct audit_summary *summary, int64_t *run_count)
{
	struct audit_extent extent;
	struct audit_anchor anchor;
	enum store_status status = audit_begin(copy, &extent);

	if (status == STORE_OK)
		status = audit_file(copy, &extent, hooks, summary);
	if (status == STORE_OK && !summary->stopped) {
		extent.first_signature = extent.newest_seal;
		status = audit_every_seal(copy, &extent, hooks, summary);
	}
	if (status == STORE_OK && !summary->stopped)
		status = compare_signatures(backup, copy, extent.newest_seal);
	if (status == STORE_OK && !summary->stopped)
		status = read_open_runs(copy);
	if (status == STORE_OK && audit_anchor_newest(copy, &anchor, run_count) != STORE_OK)
		*run_count = 0;
	return status;
}

/* Reads back what was written: every page, every row under its seal, the readings of open runs. All
 * in one transaction: nobody else has the copy, and without it each statement would look anew for
 * somebody who has, and read again what it had. */
static enum store_status verify(struct backup *backup, int64_t *run_count)
{
	struct audit_hooks hooks = {note_finding, look_up, backup};
	struct audit_summary summary = {.run_count = 0};
	struct store *copy;
	enum store_status status = store_open(&copy, backup->part, STORE_READ, backup->why);

	if (status != STORE_OK)
		return status;
	status = sql_run(copy, "BEGIN");
	if (status == STORE_OK)
		status = audit_pages(copy, &hooks, &summary);
	if (status == STORE_OK && !summary.stopped && summary.difference_count == 0)
		status = verify_seals(backup, copy, &hooks, &summary, run_count);
	if (status != STORE_OK && !backup->why->text[0])
		message_set(backup->why, "%s", store_error(copy));
	store_close(copy);
	if (status != STORE_OK)
		return status;
	if (summary.difference_count > 0)
		return STORE_CORRUPT;
	return summary.stopped ? STORE_NONE : STORE_OK;
}

static enum store_status take_name(struct backup *backup, const char *path)
{
	char folder[STORE_PATH_SIZE * 4];
	const char *slash = strrchr(path, '/');

	if (rename(backup->part, path) != 0)
		return fail(backup, "it cannot be renamed", errno);
	snprintf(folder, sizeof(folder), "%.*s", slash ? (int)(slash - path) + 1 : 1,
		slash ? path : ".");
	return sync_path(backup, folder, O_RDONLY | O_DIRECTORY);
}

enum store_status backup_write(struct store *store, const char *path,
	const struct backup_hooks *hooks, int64_t *run_count, struct message *why)
{
	struct backup backup = {.store = store, .hooks = hooks, .why = why};
	int length = snprintf(backup.part, sizeof(backup.part), "%s.part", path);

	why->text[0] = '\0';
	*run_count = 0;
	if (length >= (int)sizeof(backup.part)) {
		message_set(why, "%.80s...: the path is too long", path);
		return STORE_IO;
	}
	unlink(backup.part); /* left over from one that was interrupted */
	enum store_status status = write_part(&backup);
	if (status == STORE_OK)
		status = sync_path(&backup, backup.part, O_RDONLY);
	if (status == STORE_OK)
		status = verify(&backup, run_count);
	if (status == STORE_OK)
		status = take_name(&backup, path);
	if (status != STORE_OK)
		unlink(backup.part);
	return status;
}
