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
	stream->any = false;
	stream->asked = false;
	ticks_reset(&stream->ticks);
}

void stream_ask(struct stream *stream, struct mono_time now)
{
	stream->length = 0;
	stream->asked = true;
	stream->asked_at = now;
}

/* What a chunk's bytes share while they are fed. */
struct chunk {
	size_t waiting; /* bytes of the chunk that are not yet in the buffer */
	struct mono_time stamp;
	stream_take *take;
	void *context;
	int64_t elapsed_ns; /* since the chunk before that brought a reading; 0: there was none */
	size_t length;      /* bytes that came in that time */
};

/* How late a reading may be: the line was idle for a part of the time since the chunk before,
 * spread evenly between the bytes that came, for all that is known. Less than a frame behind it is
 * the rest of its own line, or the beginning of one that is not through yet. */
static int64_t delay_in(
	const struct stream *stream, const struct chunk *chunk, size_t frame, size_t following)
{
	int64_t idle_ns = chunk->elapsed_ns - (int64_t)chunk->length * stream->ns_per_byte;
	if (following < frame || idle_ns <= 0)
		return 0;
	return (int64_t)((double)idle_ns * (double)following / (double)chunk->length);
}

/* How much longer than the shortest the way to the instrument and back took. */
static int64_t delay_of_reply(struct stream *stream, struct mono_time time)
{
	int64_t trip_ns = time.ns - stream->asked_at.ns;
	stream->asked = false;
	/* The shortest is forgotten by a thousandth of the difference with each reply: within half
	 * a minute at 20 Hz, for an instrument that was set up anew. */
	if (stream->shortest_ns == 0 || trip_ns < stream->shortest_ns)
		stream->shortest_ns = trip_ns;
	else
		stream->shortest_ns += (trip_ns - stream->shortest_ns) / 1024;
	return trip_ns - stream->shortest_ns;
}

static unsigned marks_of(unsigned ticks)
{
	return (ticks & TICKS_LOST ? READING_LOST : 0) |
	       (ticks & TICKS_REPEATED ? READING_REPEATED : 0);
}

static void count_marks(struct stream *stream, unsigned status)
{
	stream->late_count += (status & READING_LATE) != 0;
	stream->lost_count += (status & READING_LOST) != 0;
	stream->repeated_count += (status & READING_REPEATED) != 0;
}

/* Gives a reading its time; its frame of that size ends at this place in the buffer. */
static void place_in_time(struct stream *stream, const struct chunk *chunk, size_t frame,
	size_t end, struct reading *reading)
{
	const struct pattern_counter *counter = &stream->setup->pattern.counter;
	size_t following = stream->length - end + chunk->waiting;
	struct mono_time time = {chunk->stamp.ns - (int64_t)following * stream->ns_per_byte};
	int64_t delay_ns = stream->asked ? delay_of_reply(stream, time)
					 : delay_in(stream, chunk, frame, following);
	if (counter->present && !(reading->status & READING_INVALID && reading->counter == 0))
		reading->status |= marks_of(
			ticks_feed(&stream->ticks, counter, reading->counter, time, &time));
	if (delay_ns > STREAM_LATE_NS && !(counter->present && counter->tick_ns > 0))
		reading->status |= READING_LATE;
	if (time.ns <= stream->last.ns)
		time.ns = stream->last.ns + 1;
	stream->last = reading->time = time;
	reading->moved_ns = chunk->stamp.ns - time.ns;
	stream->any = true;
	stream->previous = chunk->stamp;
	stream->arrived = 0;
	count_marks(stream, reading->status);
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
	/* What is left of a damaged frame begins none. */
	if (error != DECODER_EMPTY)
		stream->astray = error == DECODER_NO_FRAME ||
				 (error == DECODER_CHECKSUM && stream->decoder->start_marked);
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
		place_in_time(stream, chunk, bytes, at + bytes, &reading);
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
	stream->arrived += length;
	struct chunk chunk = {length, stamp, take, context,
		stream->any ? stamp.ns - stream->previous.ns : 0, stream->arrived};
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
