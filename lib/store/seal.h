/* SPDX-License-Identifier: MIT
 *
 * Inside of the store: the seal of a run, a hash over everything that the database holds of it and
 * over the seal before it. docs/seal.md gives the bytes, so that another program can check them.
 */
#ifndef STORE_SEAL_H
#define STORE_SEAL_H

#include "store/sql.h"

enum { SEAL_VERSION = 2, SEAL_PARTS = 12, SEAL_PARTS_SIZE = SEAL_PARTS * STORE_SEAL_SIZE };

struct seal {
	int64_t number, run;
	int version; /* 1 has the first nine parts only */
	unsigned char previous[STORE_SEAL_SIZE];
	unsigned char parts[SEAL_PARTS_SIZE];
	unsigned char hash[STORE_SEAL_SIZE];
};

/* "run", "run_cell" ...: the table whose rows part number part covers. Static. */
const char *seal_part_name(size_t part);

size_t seal_part_count(int version);

/* Computes the parts from the rows that are there now. */
enum store_status seal_parts(
	struct store *store, int64_t run, int version, unsigned char hashes[SEAL_PARTS_SIZE]);
/* hash of number, run, previous and parts. */
void seal_hash(const struct seal *seal, unsigned char hash[STORE_SEAL_SIZE]);

/* Seals the run: computes and inserts, within the caller's transaction. */
enum store_status seal_add(struct store *store, int64_t run);
/* The stored seal of a run; STORE_NONE where it has none. */
enum store_status seal_find(struct store *store, int64_t run, struct seal *seal);
/* The stored hash of a seal by its number; all zero for 0, which is before the first. */
enum store_status seal_hash_of(
	struct store *store, int64_t number, unsigned char hash[STORE_SEAL_SIZE]);

#endif
