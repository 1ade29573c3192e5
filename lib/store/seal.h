/* SPDX-License-Identifier: MIT
 *
 * Inside of the store: seals. A seal is a hash over everything that the database holds of one
 * subject (a run, a fracture entry, a key ...) and over the seal before it, signed with the press's
 * key. docs/seal.md gives the bytes, so that another program can check them.
 */
#ifndef STORE_SEAL_H
#define STORE_SEAL_H

#include "store/sql.h"

enum { SEAL_PARTS_MAX = 16, SEAL_PARTS_SIZE_MAX = SEAL_PARTS_MAX * STORE_SEAL_SIZE };

enum seal_subject {
	SEAL_RUN,
	SEAL_SPECIMEN,
	SEAL_SEAT,
	SEAL_FRACTURE,
	SEAL_SPECIMEN_CORRECTION,
	SEAL_RUN_CORRECTION,
	SEAL_KEY,
	SEAL_LOSS,
	SEAL_VERIFICATION,
	SEAL_UPKEEP,
	SEAL_ZERO,
	SEAL_CONFIRMATION,
	SEAL_DETAIL,
	SEAL_TERMS,
	SEAL_REPORT,
	SEAL_SUBJECTS,
};

struct seal {
	int64_t number;
	enum seal_subject subject;
	int64_t row;       /* the run, or the number of the entry in its table */
	int64_t run_count; /* runs sealed so far */
	int version;       /* 1 and 2: of runs only, not signed */
	int64_t key;       /* 0: not signed */
	unsigned char previous[STORE_SEAL_SIZE];
	unsigned char parts[SEAL_PARTS_SIZE_MAX];
	size_t part_count;
	unsigned char hash[STORE_SEAL_SIZE];
	unsigned char signature[STORE_SIGNATURE_SIZE];
};

/* "run", "specimen", "signing_key" ...: the subject's table. Static. */
const char *seal_subject_text(enum seal_subject subject);
/* "run", "run_cell" ...: the table whose rows a part covers. Static. */
const char *seal_part_name(const struct seal *seal, size_t part);

/* Computes the parts of seal->subject, row and version from the rows that are there now. */
enum store_status seal_parts(struct store *store, struct seal *seal);
/* The hash of everything in the seal but hash and signature. */
void seal_hash(const struct seal *seal, unsigned char hash[STORE_SEAL_SIZE]);
bool seal_signature_fits(
	const struct seal *seal, const unsigned char public_key[STORE_PUBLIC_KEY_SIZE]);

/* Seals a row with the store's key: computes and inserts, within the caller's transaction. */
enum store_status seal_add(struct store *store, enum seal_subject subject, int64_t row);
/* The same for the row that was inserted last. */
enum store_status seal_add_last(struct store *store, enum seal_subject subject);
/* The stored seal of a row; STORE_NONE where it has none. */
enum store_status seal_find(
	struct store *store, enum seal_subject subject, int64_t row, struct seal *seal);
/* The stored seal by its number, 0 for the newest; STORE_NONE where there is none. */
enum store_status seal_at(struct store *store, int64_t number, struct seal *seal);
/* The stored hash of a seal by its number; all zero for 0, which is before the first. */
enum store_status seal_hash_of(
	struct store *store, int64_t number, unsigned char hash[STORE_SEAL_SIZE]);

/* The public half of a key on record. */
enum store_status seal_public_key(
	struct store *store, int64_t key, unsigned char public_key[STORE_PUBLIC_KEY_SIZE]);

#endif
