/* SPDX-License-Identifier: MIT
 *
 * From chunks of bytes to readings with times: keeps the unfinished frame between chunks, calls the
 * decoder until it asks for more, counts what was thrown away.
 *
 * Time: a chunk has one stamp, taken right after the read. A reading's time is that stamp moved
 * back by the bytes that follow its last byte in the chunk, at the line's speed; times of one
 * stream rise strictly (a reading that would not follow the one before it does by a nanosecond):
 * two readings of one time would be one sample to the judge, and no curve.
 *
 * A stream is opened in the middle of whatever the cell is sending. Unless the protocol marks the
 * start of a frame, what comes before the first terminator is dropped: half a line can look like a
 * whole one. That is no error; only its bytes are counted.
 */
#ifndef MEASURE_STREAM_H
#define MEASURE_STREAM_H

#include "measure/decoder.h"

#include <stdint.h>

enum { STREAM_BUFFER_SIZE = 512 }; /* two longest frames */

struct stream {
	const struct decoder *decoder;
	const struct decoder_setup *setup; /* not owned */
	int64_t ns_per_byte; /* bits per character x 1e9 / baud; 0: leave the stamp as it is */
	unsigned char buffer[STREAM_BUFFER_SIZE];
	size_t length;
	bool skipping;         /* what ends next is the tail of something that was cut */
	bool astray;           /* the bytes before were no frame: more of them are the same error */
	struct mono_time last; /* time of the newest reading */
	uint64_t reading_count;
	uint64_t dropped_byte_count; /* bytes thrown away, but for empty lines */
	uint64_t error_count;        /* frames refused */
	enum decoder_error last_error;
};

typedef void stream_take(void *context, const struct reading *reading);

void stream_init(struct stream *stream, const struct decoder *decoder,
	const struct decoder_setup *setup, int64_t ns_per_byte);
/* Forgets the unfinished frame (after a reopened port); counters stay. */
void stream_reset(struct stream *stream);
/* Calls take once per reading, in order, before returning. */
void stream_feed(struct stream *stream, const unsigned char *bytes, size_t length,
	struct mono_time stamp, stream_take *take, void *context);

#endif
