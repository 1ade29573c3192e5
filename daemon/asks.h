/* SPDX-License-Identifier: MIT
 *
 * What the requests of the control socket do. See docs/wire.md.
 */
#ifndef DAEMON_ASKS_H
#define DAEMON_ASKS_H

#include "daemon.h"

/* Answers now, or hands a note to the writer. */
void asks_take(struct daemon *daemon, uint64_t client, uid_t uid, struct request *request);
/* The writer is done with a note of asks_take: answers, and tells the watchers. */
void asks_note_done(struct daemon *daemon, struct writer_note *note);

#endif
