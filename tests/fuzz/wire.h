/* SPDX-License-Identifier: MIT
 *
 * Whatever comes over the wire to one decoder, in whatever chunks: the readings are those of the
 * same bytes one at a time. What the targets of the cell protocols have in common.
 */
#ifndef TESTS_FUZZ_WIRE_H
#define TESTS_FUZZ_WIRE_H

#include "fuzz.h"

#include "measure/decoder.h"

/* The first byte is the size of the chunks, the rest is the wire. */
void wire_try(const char *decoder_name, const struct decoder_setup *setup, const uint8_t *data,
	size_t size);

#endif
