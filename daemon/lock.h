/* SPDX-License-Identifier: MIT
 *
 * One daemon per database.
 */
#ifndef DAEMON_LOCK_H
#define DAEMON_LOCK_H

#include "base/message.h"

/* Takes the lock; the descriptor holds it until it is closed. -1: why says who has it. */
int lock_take(const char *path, struct message *why);

#endif
