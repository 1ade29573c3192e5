/* SPDX-License-Identifier: MIT
 *
 * What a commit that failed has left, in this process or in one before it.
 */
#ifndef STORE_DOUBT_H
#define STORE_DOUBT_H

#include "store/sql.h"

/* Before a commit: notes where it leads. */
enum store_status doubt_begin(struct store *store);
/* On a fresh connection: whether the commit that failed is there (store_came_through). */
enum store_status doubt_settle(struct store *store);
/* On a fresh connection, before it writes: makes durable what the log is seen to hold. */
enum store_status doubt_renew_log(struct store *store);

#endif
