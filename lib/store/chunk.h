/* SPDX-License-Identifier: MIT
 *
 * Readings of one cell packed into bytes and back, exactly: a few bytes a reading, each chunk
 * readable by itself, every chunk with its own check so that damage is noticed and named.
 * The bytes are specified in docs/database.md. No allocation.
 */
#ifndef STORE_CHUNK_H
#define STORE_CHUNK_H

#include "measure/reading.h"

#include <stddef.h>

enum {
	CHUNK_READINGS_MAX = 1024,
	CHUNK_SIZE_MAX = 4000,
	/* Two rows of this size, with their other columns, fill a database page of 2048 bytes and
	 * four one of 4096. One row of a little more would leave half of a page empty. */
	CHUNK_SIZE_GOOD = 990,
};

enum chunk_error {
	CHUNK_OK,
	CHUNK_SHORT,   /* it ends too early or goes on too long */
	CHUNK_VERSION, /* a format that this program does not know */
	CHUNK_CHECK,   /* its bytes do not give its check */
	CHUNK_VALUE,   /* a value that no reading has */
};

/* Packs as many of the readings as fit into bytes[CHUNK_SIZE_MAX], at least one; returns how many.
 * Any values of the fields are kept, in any order of time. count >= 1. */
size_t chunk_encode(
	const struct reading *readings, size_t count, unsigned char *bytes, size_t *size);

/* Unpacks into readings[CHUNK_READINGS_MAX]. Bytes may be anything at all. */
enum chunk_error chunk_decode(
	const unsigned char *bytes, size_t size, struct reading *readings, size_t *count);

/* "its bytes do not give its check" and so on. Static. */
const char *chunk_error_text(enum chunk_error error);

#endif
