/* SPDX-License-Identifier: MIT
 *
 * A chunk of readings from a database that anybody may have written: what is unpacked packs and
 * unpacks to the same, everything else is an error. The input is a chunk without its check, which
 * is made to fit: no mutation would ever hit it.
 */
#include "fuzz.h"

#include "store/chunk.h"

#include <assert.h>
#include <sodium.h>
#include <string.h>

enum { CHECK_SIZE = 8 };

static void try_again(const struct reading *readings, size_t count)
{
	static struct reading back[CHUNK_READINGS_MAX];
	unsigned char bytes[CHUNK_SIZE_MAX];
	size_t size, found;

	size_t taken = chunk_encode(readings, count, bytes, &size);
	assert(taken >= 1 && taken <= count);
	enum chunk_error error = chunk_decode(bytes, size, back, &found);
	assert(error == CHUNK_OK && found == taken);
	for (size_t i = 0; i < taken; i++) {
		assert(back[i].time.ns == readings[i].time.ns);
		assert(back[i].value.mantissa == readings[i].value.mantissa);
		assert(back[i].value.exponent == readings[i].value.exponent);
		assert(back[i].moved_ns == readings[i].moved_ns);
		assert(back[i].counter == readings[i].counter);
		assert(back[i].unit == readings[i].unit && back[i].status == readings[i].status);
	}
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	static struct reading readings[CHUNK_READINGS_MAX];
	unsigned char bytes[CHUNK_SIZE_MAX], hash[32];
	size_t count;

	if (size > CHUNK_SIZE_MAX - CHECK_SIZE)
		return 0;
	if (size > 0)
		memcpy(bytes, data, size);
	crypto_generichash(hash, sizeof(hash), bytes, size, NULL, 0);
	memcpy(bytes + size, hash, CHECK_SIZE);
	enum chunk_error error = chunk_decode(bytes, size + CHECK_SIZE, readings, &count);
	assert((error == CHUNK_OK) == (count > 0));
	assert(error != CHUNK_CHECK);
	if (error == CHUNK_OK)
		try_again(readings, count);
	return 0;
}
