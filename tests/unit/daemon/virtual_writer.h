/* SPDX-License-Identifier: MIT
 *
 * In the place of daemon/writer.c and daemon/clients.c: the ring and the applier as they are, but
 * no thread; and one watcher that takes every line and keeps it.
 */
#ifndef TESTS_UNIT_DAEMON_VIRTUAL_WRITER_H
#define TESTS_UNIT_DAEMON_VIRTUAL_WRITER_H

#include "writer.h"

/* The hooks are copied. */
void virtual_writer_begin(
	struct store *store, const char *database, const struct writer_hooks *hooks);
/* Commits what is due, and hands notes back. Between two turns of the loop. */
void virtual_writer_turn(void *unused);
/* Commits all there is. */
void virtual_writer_finish(void);

/* Passed on, never looked at. */
struct writer *virtual_writer(void);
struct clients *virtual_clients(void);

#endif
