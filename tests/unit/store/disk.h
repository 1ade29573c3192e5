/* SPDX-License-Identifier: MIT
 *
 * A disk under SQLite that can be unplugged or fail, for the tests of the store. Files are real
 * ones; beside them it knows what a disk without power would still hold: what was synced, and of
 * the writes since then some, in any order, torn at sectors. One at a time.
 */
#ifndef TESTS_UNIT_STORE_DISK_H
#define TESTS_UNIT_STORE_DISK_H

#include <stdbool.h>
#include <stdint.h>

enum disk_call {
	DISK_WRITE,
	DISK_SYNC, /* one that fails may lose for good what it was to make safe */
	DISK_READ,
	DISK_TRUNCATE,
	DISK_NAME,  /* to open, or to delete */
	DISK_LOCK,  /* of the file, or in the memory that connections share */
	DISK_SHARE, /* to map that memory */
	DISK_CALLS
};

/* 0 to below - 1; the seed goes on. */
uint64_t disk_draw(uint64_t *seed, uint64_t below);

/* A closed database and its key, in the place of what is there. */
void disk_copy(const char *from, const char *to);

/* Becomes the way in which SQLite reaches files, or stops being it. */
void disk_begin(void);
void disk_end(void);

/* Forgets faults and what was written; what the files hold now counts as synced. */
void disk_reset(const char *database);
/* The power goes at the n-th write, truncation or sync from now, 1 ...: it and everything after it
 * fails. */
void disk_cut_at(uint64_t n);
bool disk_is_cut(void);
/* Writes what is left after a cut to target and target-wal; the same seed, the same bytes. */
void disk_leave(const char *target, uint64_t seed);
/* The n-th call of that kind from now fails; for_good: and every one after it. 0: none. */
void disk_fail(enum disk_call call, uint64_t n, bool for_good);
/* How many calls of that kind there were since disk_reset. */
uint64_t disk_count(enum disk_call call);
/* How many there were at which the power could have gone. */
uint64_t disk_steps(void);

#endif
