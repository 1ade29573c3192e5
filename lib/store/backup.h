/* SPDX-License-Identifier: MIT
 *
 * A verified copy of the database, made while the daemon writes to it.
 */
#ifndef STORE_BACKUP_H
#define STORE_BACKUP_H

#include "store/store.h"

struct backup_hooks {
	/* done of total pages, later 0 of 0; false stops it. May be NULL. */
	bool (*progress)(void *context, size_t done, size_t total);
	void *context;
};

/* Copies the store (open for reading) to path, replacing what has that name only once the copy was
 * read back: its pages, its tables, every seal over every row. run_count: sealed runs in it.
 * STORE_NONE: progress stopped it; STORE_CORRUPT: the copy, and so most likely the database, does
 * not hold. On failure nothing new is there and why says what and where. */
enum store_status backup_write(struct store *store, const char *path,
	const struct backup_hooks *hooks, int64_t *run_count, struct message *why);

#endif
