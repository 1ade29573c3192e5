/* SPDX-License-Identifier: MIT
 *
 * The database side of the writer: jobs of the ring become rows. Used by the writer's thread alone;
 * it knows nothing of time, waiting or the loop.
 */
#ifndef DAEMON_APPLIER_H
#define DAEMON_APPLIER_H

#include "config.h"
#include "ring.h"
#include "writer.h"

enum { APPLIER_GATHER_MAX = 1024 };

struct applier {
	struct ring *ring;
	struct store *store;
	const char *database;                     /* for messages */
	int64_t runs[CONFIG_PRESSES_MAX];         /* as committed; 0: none open */
	int64_t runs_pending[CONFIG_PRESSES_MAX]; /* as in the transaction */
	size_t doubtful; /* jobs in the transaction whose commit failed; 0: it did not */
	int64_t runs_doubtful[CONFIG_PRESSES_MAX]; /* as it leaves them */
	struct reading gathered[APPLIER_GATHER_MAX];
};

/* After store_reopen: whether the transaction whose commit failed is there all the same, and how
 * many jobs it had. They are done. */
bool applier_came_through(struct applier *applier, size_t *length);
/* How many of the count oldest jobs belong in one transaction; count at least 1. A request stands
 * alone, so that its refusal undoes nothing else; and what failed in a commit is tried again as it
 * was, so that it can be told whether that has come through. */
size_t applier_slice(const struct applier *applier, size_t count);
/* Writes the length oldest jobs in one transaction, or nothing. On STORE_REFUSED and STORE_NONE the
 * cause is either *failed, a note that the caller takes out, or readings, given up by now; the rest
 * is to be tried again. Anything else is the disk. why: what the database said. */
enum store_status applier_write(
	struct applier *applier, size_t length, struct job **failed, struct message *why);

#endif
