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

enum disk_call { DISK_WRITE, DISK_SYNC, DISK_READ, DISK_CALLS };

/* Becomes the way in which SQLite reaches files, or stops being it. */
void disk_begin(void);
void disk_end(void);

/* Forgets faults and what was written; what the files hold now counts as synced. */
void disk_reset(const char *database);
/* The power goes at the n-th write or sync from now, 1 ...: it and everything after it fails. */
void disk_cut_at(uint64_t n);
bool disk_is_cut(void);
/* Writes what is left after a cut to target and target-wal; the same seed, the same bytes. */
void disk_leave(const char *target, uint64_t seed);
/* The n-th call of that kind from now fails; for_good: and every one after it. 0: none. */
void disk_fail(enum disk_call call, uint64_t n, bool for_good);
/* How many calls of that kind there were since disk_reset. */
uint64_t disk_count(enum disk_call call);

#endif
