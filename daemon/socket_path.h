/* SPDX-License-Identifier: MIT
 *
 * The place of the control socket.
 */
#ifndef DAEMON_SOCKET_PATH_H
#define DAEMON_SOCKET_PATH_H

#include "base/message.h"

#include <stdbool.h>

/* Makes the path free for a socket: removes one that nobody listens on. False where somebody does,
 * where it is no socket, or where the path is too long. */
bool socket_path_free(const char *path, struct message *why);

#endif
