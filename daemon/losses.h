/* SPDX-License-Identifier: MIT
 *
 * What could not be kept while the disk refused, a row a press, until it is on record itself.
 */
#ifndef DAEMON_LOSSES_H
#define DAEMON_LOSSES_H

#include "config.h"
#include "store/store.h"

/* All zero: nothing was lost. */
struct losses {
	struct loss presses[CONFIG_PRESSES_MAX]; /* press "": none */
};

void losses_add(struct losses *losses, size_t press, const struct loss *more);
bool losses_any(const struct losses *losses);
/* Moves all of them; false: there are none. */
bool losses_take(struct losses *losses, struct losses *taken);
/* Adds those that were taken and could not be stored. */
void losses_put_back(struct losses *losses, const struct losses *taken);
/* In one transaction, which is left open when it fails. */
enum store_status losses_store(const struct losses *losses, struct store *store);

#endif
