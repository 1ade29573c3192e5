/* SPDX-License-Identifier: MIT
 *
 * An flock goes when its holder dies, however it dies; the file stays.
 */
#include "lock.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/file.h>
#include <unistd.h>

int lock_take(const char *path, struct message *why)
{
	int descriptor = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0640);

	if (descriptor < 0) {
		message_set(why, "lock %s: %s: see to its folder, or set lock = ...", path,
			strerror(errno));
		return -1;
	}
	if (flock(descriptor, LOCK_EX | LOCK_NB) == 0)
		return descriptor;
	message_set(why,
		"lock %s is held: another ramplogd, or a ramplog command that writes, uses this"
		" database: end it first",
		path);
	close(descriptor);
	return -1;
}
