/* SPDX-License-Identifier: MIT
 *
 * The database's write-ahead log, which grows as long as somebody reads in one transaction. The
 * writer's thread looks at it after each slice.
 */
#ifndef DAEMON_JOURNAL_H
#define DAEMON_JOURNAL_H

#include "store/store.h"

#include <stdbool.h>
#include <stdint.h>

/* All zero at first. */
struct journal {
	int64_t told; /* its size when it was last said to be large; 0: it is not */
	bool tight;   /* it was said that the disk has no room for as much again */
};

/* False, and why: what is left on the disk is needed to write the log back. */
bool journal_leaves_room(struct store *store, const char *database, struct message *why);
/* Says to the log when it has become large, and when it is cut back. */
void journal_watch(struct journal *journal, struct store *store, const char *database);

#endif
