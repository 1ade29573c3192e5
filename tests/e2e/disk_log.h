/* SPDX-License-Identifier: MIT
 *
 * What disk_shim.c notes of a daemon's life, in a file that the test has made with this size and
 * that outlives a kill: each write and each sync of the database, how long the thread that
 * writes and the first one had waited for a processor by then, and when bytes came from a cell.
 */
#ifndef TESTS_E2E_DISK_LOG_H
#define TESTS_E2E_DISK_LOG_H

#include <stdatomic.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

enum { DISK_CALLS_MAX = 16 * 1024 };

/* On the monotonic clock; ended 0: it was never back. */
struct disk_call {
	int64_t begun_ns, ended_ns;
	int64_t waited_ns; /* of both threads, since they began, when this call began */
};

struct disk_log {
	_Atomic int64_t received_ns; /* when a cell's bytes were last read */
	_Atomic int64_t thread;      /* which one writes beside the first; 0: none yet */
	_Atomic size_t count;
	struct disk_call calls[DISK_CALLS_MAX];
};

/* How long a thread was ready to run and others had the processors, if the kernel tells. */
static inline int64_t disk_log_waited_ns(int process, int64_t thread)
{
	char path[64];
	long long ran_ns, waited_ns = 0;
	snprintf(path, sizeof path, "/proc/%d/task/%lld/schedstat", process, (long long)thread);
	FILE *file = thread ? fopen(path, "re") : NULL;
	if (file && fscanf(file, "%lld %lld", &ran_ns, &waited_ns) != 2)
		waited_ns = 0;
	if (file)
		fclose(file);
	return waited_ns;
}

/* The first thread, which reads the cells, and the one that writes. */
static inline int64_t disk_log_both_waited_ns(int process, const struct disk_log *log)
{
	return disk_log_waited_ns(process, process) + disk_log_waited_ns(process, log->thread);
}

#endif
