/* SPDX-License-Identifier: MIT
 *
 * Pseudo terminals. The slave is opened and closed once when it is made: it sets raw mode before
 * anybody reads, and from then on the kernel reports on the master (POLLHUP) whether anybody has
 * the slave open, which it does not before the first close.
 */
#include "pty.h"

#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

static bool set_raw(const char *slave)
{
	struct termios settings;
	int fd = open(slave, O_RDWR | O_NOCTTY | O_CLOEXEC);
	if (fd < 0)
		return false;
	bool done = tcgetattr(fd, &settings) == 0;
	cfmakeraw(&settings);
	done = done && tcsetattr(fd, TCSANOW, &settings) == 0;
	close(fd);
	return done;
}

static bool publish(const struct pty *pty, struct message *why)
{
	struct stat status;
	char temporary[PTY_PATH_SIZE + 16];
	if (lstat(pty->link, &status) == 0 && !S_ISLNK(status.st_mode))
		return message_set(
			why, "%s exists and is no symlink: give --link another path", pty->link);
	snprintf(temporary, sizeof temporary, "%s.%ld", pty->link, (long)getpid());
	unlink(temporary);
	if (symlink(pty->slave, temporary) != 0)
		return message_set(why, "cannot make the link %s: %s; is the folder there?",
			temporary, strerror(errno));
	if (rename(temporary, pty->link) == 0)
		return true;
	message_set(why, "cannot make the link %s: %s", pty->link, strerror(errno));
	unlink(temporary);
	return false;
}

bool pty_plug(struct pty *pty, const char *link, struct message *why)
{
	memset(pty, 0, sizeof *pty);
	pty->master = pty->locked = -1;
	if (strlen(link) >= sizeof pty->link)
		return message_set(
			why, "--link %.60s...: longer than %zu bytes", link, sizeof pty->link - 1);
	int master = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
	if (master < 0)
		return message_set(why, "no pseudo terminal to be had: %s", strerror(errno));
	if (grantpt(master) != 0 || unlockpt(master) != 0 ||
		ptsname_r(master, pty->slave, sizeof pty->slave) != 0 || !set_raw(pty->slave)) {
		message_set(why, "cannot set up a pseudo terminal: %s", strerror(errno));
		goto fail;
	}
	memcpy(pty->link, link, strlen(link) + 1);
	if (!publish(pty, why))
		goto fail;
	pty->master = master;
	return true;
fail:
	close(master);
	return false;
}

bool pty_replug(struct pty *pty, struct message *why)
{
	const struct pty before = *pty;
	struct pty first;
	bool done = pty_plug(&first, before.link, why);
	*pty = first;
	/* The kernel gives the lowest free number, so the old one is kept busy meanwhile. */
	if (done && strcmp(first.slave, before.slave) == 0) {
		done = pty_plug(pty, before.link, why);
		close(first.master);
	}
	pty->refused_count = before.refused_count;
	return done;
}

void pty_unplug(struct pty *pty)
{
	if (pty->master < 0)
		return;
	pty_unlock(pty);
	unlink(pty->link);
	close(pty->master);
	pty->master = -1;
}

size_t pty_read(struct pty *pty, unsigned char *bytes, size_t size)
{
	ssize_t length = read(pty->master, bytes, size);
	return length > 0 ? (size_t)length : 0;
}

bool pty_has_reader(const struct pty *pty)
{
	struct pollfd master = {.fd = pty->master, .events = 0};
	return pty->master >= 0 && poll(&master, 1, 0) >= 0 && (master.revents & POLLHUP) == 0;
}

void pty_write(struct pty *pty, const char *bytes, size_t length)
{
	assert(bytes != NULL);
	if (length == 0 || !pty_has_reader(pty))
		return;
	ssize_t written = write(pty->master, bytes, length);
	if (written < 0 || (size_t)written < length)
		pty->refused_count++;
}

void pty_trickle(struct pty *pty, const char *bytes, size_t length, int64_t apart_ns)
{
	const struct timespec pause = {.tv_nsec = apart_ns};
	assert(apart_ns >= 0 && apart_ns < 1000000000);
	for (size_t i = 0; i < length; i++) {
		if (i > 0)
			nanosleep(&pause, NULL);
		pty_write(pty, bytes + i, 1);
	}
}

bool pty_lock(struct pty *pty)
{
	if (pty->locked >= 0)
		return true;
	pty->locked = open(pty->slave, O_RDONLY | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
	if (pty->locked >= 0 && flock(pty->locked, LOCK_EX | LOCK_NB) == 0)
		return true;
	pty_unlock(pty);
	return false;
}

void pty_unlock(struct pty *pty)
{
	if (pty->locked >= 0)
		close(pty->locked);
	pty->locked = -1;
}
