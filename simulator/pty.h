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
	uint64_t refused_count; /* lines that the full buffer of a stalled reader did not take */
};

/* Makes a pseudo terminal in raw mode and points the link to it, atomically. A link left over from
 * before is replaced; anything else of that name is refused. */
bool pty_plug(struct pty *pty, const char *link, struct message *why);
/* Closes the master, which to the reader is what pulling the plug is, and removes the link. Fine on
 * an unplugged one. */
void pty_unplug(struct pty *pty);
/* Whether somebody has the slave open. */
bool pty_has_reader(const struct pty *pty);
/* Never waits; a line that does not fit is lost whole or in part, and counted. Without a reader
 * nothing is written: a wire keeps nothing for whoever comes later. */
void pty_write(struct pty *pty, const char *bytes, size_t length);

#endif
