/* SPDX-License-Identifier: MIT
 *
 * A disk that refuses or is watched, for one program: linked into a daemon of the tests' own, where
 * SQLite finds these calls before those of the C library. The file named by RAMPLOG_TEST_DISK says
 * what fails and how, for as long as it is there: "write 5 once", "sync 30 on" (the error's
 * number). Into the one named by RAMPLOG_TEST_DISK_LOG goes what disk_log.h has.
 */
/* Else pwrite and pwrite64 are one name here, and SQLite may have been built with either. */
#undef _FILE_OFFSET_BITS

#include "disk_log.h"

#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/syscall.h>
#include <sys/types.h>
#include <time.h>
#include <unistd.h>

/* ---- watched: written into shared memory, so that it is there after a kill */

static struct disk_log *disk_log;
static pthread_once_t disk_log_once = PTHREAD_ONCE_INIT;

static void open_log(void)
{
	const char *path = getenv("RAMPLOG_TEST_DISK_LOG");
	int file = path ? open(path, O_RDWR | O_CLOEXEC) : -1;
	void *memory = file >= 0 ? mmap(NULL, sizeof *disk_log, PROT_READ | PROT_WRITE, MAP_SHARED,
					   file, 0)
				 : MAP_FAILED;
	if (file >= 0)
		close(file);
	disk_log = memory == MAP_FAILED ? NULL : memory;
}

static int64_t now_ns(void)
{
	struct timespec now;
	clock_gettime(CLOCK_MONOTONIC, &now);
	return now.tv_sec * INT64_C(1000000000) + now.tv_nsec;
}

/* NULL: nobody watches, or there were too many. */
static struct disk_call *call_begins(void)
{
	pthread_once(&disk_log_once, open_log);
	size_t count = disk_log ? atomic_load(&disk_log->count) : DISK_CALLS_MAX;
	if (count == DISK_CALLS_MAX)
		return NULL;
	pid_t thread = (pid_t)syscall(SYS_gettid);
	if (thread != getpid())
		atomic_store(&disk_log->thread, thread);
	disk_log->calls[count].waited_ns = disk_log_both_waited_ns(getpid(), disk_log);
	disk_log->calls[count].begun_ns = now_ns();
	atomic_store(&disk_log->count, count + 1);
	return &disk_log->calls[count];
}

static void call_ends(struct disk_call *call)
{
	int error = errno;
	if (call)
		call->ended_ns = now_ns();
	errno = error;
}

ssize_t read(int file, void *bytes, size_t count)
{
	ssize_t (*real)(int, void *, size_t);
	*(void **)&real = dlsym(RTLD_NEXT, "read");
	pthread_once(&disk_log_once, open_log);
	ssize_t got = real(file, bytes, count);
	if (got > 0 && disk_log && isatty(file))
		atomic_store(&disk_log->received_ns, now_ns());
	return got;
}

/* ---- refused */

static bool refused(const char *call)
{
	const char *path = getenv("RAMPLOG_TEST_DISK");
	char what[8] = "", how[8] = "";
	int error = 0;
	FILE *file = path ? fopen(path, "re") : NULL;
	bool refuse = file && fscanf(file, "%7s %d %7s", what, &error, how) == 3 &&
		      strcmp(what, call) == 0;
	if (file)
		fclose(file);
	if (!refuse)
		return false;
	if (strcmp(how, "once") == 0)
		unlink(path);
	errno = error;
	return true;
}

ssize_t pwrite(int file, const void *bytes, size_t count, off_t at)
{
	ssize_t (*real)(int, const void *, size_t, off_t);
	*(void **)&real = dlsym(RTLD_NEXT, "pwrite");
	struct disk_call *call = call_begins();
	ssize_t done = refused("write") ? -1 : real(file, bytes, count, at);
	call_ends(call);
	return done;
}

ssize_t pwrite64(int file, const void *bytes, size_t count, off64_t at)
{
	return pwrite(file, bytes, count, at);
}

ssize_t pread(int file, void *bytes, size_t count, off_t at)
{
	ssize_t (*real)(int, void *, size_t, off_t);
	*(void **)&real = dlsym(RTLD_NEXT, "pread");
	return refused("read") ? -1 : real(file, bytes, count, at);
}

ssize_t pread64(int file, void *bytes, size_t count, off64_t at)
{
	return pread(file, bytes, count, at);
}

static int sync_with(const char *name, int file)
{
	int (*real)(int);
	*(void **)&real = dlsym(RTLD_NEXT, name);
	struct disk_call *call = call_begins();
	int done = refused("sync") ? -1 : real(file);
	call_ends(call);
	return done;
}

int fdatasync(int file)
{
	return sync_with("fdatasync", file);
}

int fsync(int file)
{
	return sync_with("fsync", file);
}
