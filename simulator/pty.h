/* SPDX-License-Identifier: MIT
 *
 * A pseudo terminal that stands in for a serial port, published under a symlink. The master side is
 * the instrument's; whoever opens the link is the computer's.
 *
 * Not imitated: baud rate (bytes arrive at once), parity, modem lines.
 */
#ifndef SIMULATOR_PTY_H
#define SIMULATOR_PTY_H

#include "base/message.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { PTY_PATH_SIZE = 256 };

struct pty {
	int master; /* -1 while unplugged */
	char slave[PTY_PATH_SIZE];
	char link[PTY_PATH_SIZE];
	int locked; /* the slave, held as another program would hold it; -1: it is not */
	uint64_t refused_count; /* lines that the full buffer of a stalled reader did not take */
};

/* Makes a pseudo terminal in raw mode and points the link to it, atomically. A link left over from
 * before is replaced; anything else of that name is refused. */
bool pty_plug(struct pty *pty, const char *link, struct message *why);
/* As a plugged-in adapter that lost its old name to itself: never the slave it had before. */
bool pty_replug(struct pty *pty, struct message *why);
/* Closes the master, which to the reader is what pulling the plug is, and removes the link. Fine on
 * an unplugged one. */
void pty_unplug(struct pty *pty);
/* What the reader of the link has sent, without waiting: the number of bytes, at most size. */
size_t pty_read(struct pty *pty, unsigned char *bytes, size_t size);
/* Whether somebody has the slave open. */
bool pty_has_reader(const struct pty *pty);
/* Never waits; a line that does not fit is lost whole or in part, and counted. Without a reader
 * nothing is written: a wire keeps nothing for whoever comes later. */
void pty_write(struct pty *pty, const char *bytes, size_t length);
/* The same byte by byte, so many nanoseconds apart; waits for as long as that takes. */
void pty_trickle(struct pty *pty, const char *bytes, size_t length, int64_t apart_ns);
/* Holds the port as another program would. False: somebody else holds it. */
bool pty_lock(struct pty *pty);
void pty_unlock(struct pty *pty); /* fine where it is not held */

#endif
