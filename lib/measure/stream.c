/* SPDX-License-Identifier: MIT
 *
 * The loop around a decoder. The buffer always has room for a whole frame when the decoder asks for
 * more, because a decoder must decide within frame_max and the buffer holds two of the longest.
 */
#include "measure/stream.h"

#include <assert.h>
#include <string.h>

void stream_init(struct stream *stream, const struct decoder *decoder,
	const struct decoder_setup *setup, int64_t ns_per_byte)
{
	assert(decoder->frame_max <= STREAM_BUFFER_SIZE / 2);
	assert(ns_per_byte >= 0);
	memset(stream, 0, sizeof(*stream));
	stream->decoder = decoder;
	stream->setup = setup;
	stream->ns_per_byte = ns_per_byte;
	stream->last.ns = INT64_MIN;
	stream_reset(stream);
}

void stream_reset(struct stream *stream)
{
	stream->length = 0;
	stream->skipping = !stream->decoder->start_marked;
	stream->astray = false;
}

/* What a chunk's bytes share while they are fed. */
struct chunk {
	size_t waiting; /* bytes of the chunk that are not yet in the buffer */
	struct mono_time stamp;
	stream_take *take;
	void *context;
};

/* The time of the last byte of a frame that ends at this place in the buffer. */
static struct mono_time time_of(struct stream *stream, const struct chunk *chunk, size_t end)
{
	size_t following = stream->length - end + chunk->waiting;
	struct mono_time time = {chunk->stamp.ns - (int64_t)following * stream->ns_per_byte};
	if (time.ns <= stream->last.ns)
		time.ns = stream->last.ns + 1;
	stream->last = time;
	return time;
}

static void refuse(struct stream *stream, size_t bytes, enum decoder_error error)
{
	if (error != DECODER_EMPTY)
		stream->dropped_byte_count += bytes;
	bool again = error == DECODER_NO_FRAME && stream->astray;
	if (error == DECODER_TOO_LONG || (error != DECODER_EMPTY && !stream->skipping && !again)) {
		stream->error_count++;
		stream->last_error = error;
	}
	if (error != DECODER_EMPTY)
		stream->astray = error == DECODER_NO_FRAME;
	/* The rest of a line that is too long may look like a whole one. */
	stream->skipping = error == DECODER_TOO_LONG && !stream->decoder->start_marked;
}

/* Decodes one frame at this place in the buffer; returns the bytes used, 0 for "more needed". */
static size_t decode_one(struct stream *stream, const struct chunk *chunk, size_t at)
{
	struct reading reading;
	enum decoder_error error = DECODER_OK;
	const struct decoder *decoder = stream->decoder;
	size_t length = stream->length - at;
	int used = decoder->decode(stream->setup, stream->buffer + at, length, &reading, &error);
	assert(used != 0 || length < decoder->frame_max);
	if (used == 0)
		return 0;
	size_t bytes = used > 0 ? (size_t)used : (size_t)-used;
	assert(bytes <= length);
	if (used < 0) {
		refuse(stream, bytes, error);
	} else if (stream->skipping) {
		stream->dropped_byte_count += bytes;
		stream->skipping = false;
	} else {
		stream->astray = false;
		reading.time = time_of(stream, chunk, at + bytes);
		stream->reading_count++;
		chunk->take(chunk->context, &reading);
	}
	return bytes;
}

static void decode_buffer(struct stream *stream, const struct chunk *chunk)
{
	size_t at = 0;
	while (at < stream->length) {
		size_t used = decode_one(stream, chunk, at);
		if (used == 0)
			break;
		at += used;
	}
	stream->length -= at;
	memmove(stream->buffer, stream->buffer + at, stream->length);
}

void stream_feed(struct stream *stream, const unsigned char *bytes, size_t length,
	struct mono_time stamp, stream_take *take, void *context)
{
	struct chunk chunk = {length, stamp, take, context};
	while (chunk.waiting > 0) {
		size_t room = STREAM_BUFFER_SIZE - stream->length;
		size_t part = chunk.waiting < room ? chunk.waiting : room;
		assert(part > 0);
		memcpy(stream->buffer + stream->length, bytes + length - chunk.waiting, part);
		stream->length += part;
		chunk.waiting -= part;
		decode_buffer(stream, &chunk);
	}
}
