/* SPDX-License-Identifier: MIT
 *
 * Inside of the store: the tables of the database and their versions.
 */
#ifndef STORE_SCHEMA_H
#define STORE_SCHEMA_H

#include "store/sql.h"

/* "RLOG": says that a file is a ramplog database, whoever looks at it (file(1) does too). */
#define SCHEMA_APPLICATION_ID INT64_C(0x524c4f47)

/* What user_version means:
 *   1  the first: specimens, seats, runs, readings, outcomes, seals, fractures
 *   2  the press itself: verifications, upkeep, zeros, where the load acted
 *   3  corrections, keys, seals of everything, losses, sample counts, the view of readings
 *   4  texts of the methods, confirmations of them, details of specimens
 *   5  the view of readings for every chunk, lists by the specimen as corrected
 *   6  each measure of a specimen, corrected details, terms of sets, where a beam cracked
 *   7  reports that were given out */
enum { SCHEMA_VERSION = 7 };

/* Looks whether the file is a ramplog database of a version this program can use, and which; 0: an
 * empty file, in write mode. */
enum store_status schema_check(struct store *store, int64_t *version);
/* Brings a database of that version up to SCHEMA_VERSION in one transaction,
 * which happens wholly or not at all. */
enum store_status schema_migrate(struct store *store, int64_t version);

/* In hexadecimal digits, with the final NUL. */
enum { SCHEMA_DIGEST_SIZE = 65 };
/* A hash of all tables, indexes, views and triggers, to the letter. */
enum store_status schema_digest(struct store *store, char text[SCHEMA_DIGEST_SIZE]);
/* Whether it is that of what this program makes. What is different otherwise only a database made
 * anew can tell, which takes a hundred times as long. */
enum store_status schema_is_as_made(struct store *store, bool *as_made);

#endif
