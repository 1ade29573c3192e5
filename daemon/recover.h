/* SPDX-License-Identifier: MIT
 *
 * What a daemon that was killed left behind: runs that were opened and never closed. Done once at
 * start, before the writer has the database.
 */
#ifndef DAEMON_RECOVER_H
#define DAEMON_RECOVER_H

#include "daemon.h"

/* Resumes the runs that may still be going on, closes the others from their stored readings, and
 * seats what is seated. False: why says what the database has against it. */
bool recover_all(struct daemon *daemon, struct message *why);

#endif
