/* SPDX-License-Identifier: MIT
 *
 * Plays one wire twice, in chunks and byte by byte; see wire.h.
 */
#include "wire.h"

#include "measure/stream.h"

#include <assert.h>

struct seen {
	uint64_t count;
	int64_t last_ns;
	uint64_t mix; /* of all readings, in order */
};

static void look(void *context, const struct reading *reading)
{
	struct seen *seen = context;
	assert(seen->count == 0 || reading->time.ns >= seen->last_ns);
	assert(reading->value.exponent >= -18 && reading->value.exponent <= 18);
	seen->last_ns = reading->time.ns;
	seen->count++;
	seen->mix = seen->mix * 1099511628211u + (uint64_t)reading->value.mantissa;
	seen->mix = seen->mix * 1099511628211u + (uint64_t)reading->time.ns;
	seen->mix = seen->mix * 1099511628211u + (uint64_t)reading->unit + reading->status +
		    (uint64_t)reading->counter;
}

static void feed(
	struct stream *stream, const uint8_t *data, size_t size, size_t chunk, struct seen *seen)
{
	for (size_t at = 0; at < size;) {
		size_t part = size - at < chunk ? size - at : chunk;
		at += part;
		stream_feed(stream, data + at - part, part,
			(struct mono_time){(int64_t)at * stream->ns_per_byte}, look, seen);
	}
}

void wire_try(const char *decoder_name, const struct decoder_setup *setup, const uint8_t *data,
	size_t size)
{
	const struct decoder *decoder = decoder_find(decoder_name);
	struct stream whole, bytes;
	struct seen in_chunks = {0}, one_by_one = {0};
	if (size == 0)
		return;
	stream_init(&whole, decoder, setup, 1041667);
	stream_init(&bytes, decoder, setup, 1041667);
	feed(&whole, data + 1, size - 1, (size_t)data[0] * 4 + 1, &in_chunks);
	feed(&bytes, data + 1, size - 1, 1, &one_by_one);
	assert(in_chunks.count == one_by_one.count);
	assert(in_chunks.mix == one_by_one.mix);
	assert(in_chunks.count == whole.reading_count);
	assert(whole.error_count == bytes.error_count);
	assert(whole.dropped_byte_count == bytes.dropped_byte_count);
	assert(whole.dropped_byte_count <= size - 1);
}
