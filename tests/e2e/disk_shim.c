/* SPDX-License-Identifier: MIT
 *
 * A disk that refuses, for one program: linked into a daemon of the tests' own, where SQLite finds
 * these calls before those of the C library. The file named by RAMPLOG_TEST_DISK says what fails
 * and how, for as long as it is there: "write 5 once", "sync 30 on" (the error's number).
 */
/* Else pwrite and pwrite64 are one name here, and SQLite may have been built with either. */
#undef _FILE_OFFSET_BITS

#include <dlfcn.h>
#include <errno.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/types.h>
#include <unistd.h>

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
	return refused("write") ? -1 : real(file, bytes, count, at);
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

int fdatasync(int file)
{
	int (*real)(int);
	*(void **)&real = dlsym(RTLD_NEXT, "fdatasync");
	return refused("sync") ? -1 : real(file);
}

int fsync(int file)
{
	int (*real)(int);
	*(void **)&real = dlsym(RTLD_NEXT, "fsync");
	return refused("sync") ? -1 : real(file);
}
