/* SPDX-License-Identifier: MIT
 *
 * Whoever calls this holds the daemon's lock, so nobody else makes the socket at the same time.
 */
#include "socket_path.h"

#include <errno.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

/* 0: somebody listens; else why not. */
static int try_connect(const struct sockaddr_un *address)
{
	int descriptor = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
	int error = 0;

	if (descriptor < 0)
		return errno;
	if (connect(descriptor, (const struct sockaddr *)address, sizeof *address) != 0)
		error = errno;
	close(descriptor);
	return error;
}

bool socket_path_free(const char *path, struct message *why)
{
	struct sockaddr_un address = {.sun_family = AF_UNIX};
	struct stat info;

	if (strlen(path) >= sizeof address.sun_path)
		return message_set(why, "socket %s: the path is longer than %zu bytes", path,
			sizeof address.sun_path - 1);
	strcpy(address.sun_path, path);
	if (lstat(path, &info) != 0)
		return errno == ENOENT || message_set(why, "socket %s: %s", path, strerror(errno));
	if (!S_ISSOCK(info.st_mode))
		return message_set(why,
			"socket %s is there and is no socket: remove it, or set socket = ...",
			path);
	int error = try_connect(&address);
	if (!error)
		return message_set(why,
			"socket %s is in use by another program: end it, or set"
			" socket = ...",
			path);
	if (error != ECONNREFUSED)
		return message_set(why, "socket %s: %s", path, strerror(error));
	if (unlink(path) != 0)
		return message_set(why, "socket %s is left over and cannot be removed: %s", path,
			strerror(errno));
	return true;
}
