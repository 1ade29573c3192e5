/* SPDX-License-Identifier: MIT
 *
 * From chunks of bytes to readings with times: keeps the unfinished frame between chunks, calls the
 * decoder until it asks for more, counts what was thrown away.
 *
 * Time: a chunk (all that one wake-up of the reader found) has one stamp, taken right after the
 * read. A reading's time is that stamp moved back by the bytes that follow its last byte in the
 * chunk, at the line's speed; times of one stream rise strictly (a reading that would not follow
 * the one before it does by a nanosecond): two readings of one time would be one sample to the
 * judge, and no curve.
 *
 * That is right as long as the reader keeps up. Where it was held up, readings have piled up in the
 * chunk, and all but the last ones are older than the bytes behind them explain. Those that would
 * be off by more than STREAM_LATE_NS, if the line was idle between the bytes evenly, are marked
 * READING_LATE; so is the reply to a request whose round trip took longer by that than the
 * shortest. A cell's own counter finds readings that are missing or came twice, and if its ticks
 * are of known length its time is used instead: it knows of no delay.
 *
 * A stream is opened in the middle of whatever the cell is sending. Unless the protocol marks the
 * start of a frame, what comes before the first terminator is dropped: half a line can look like a
 * whole one. That is no error; only its bytes are counted.
 */
#ifndef MEASURE_STREAM_H
#define MEASURE_STREAM_H

#include "measure/decoder.h"
#include "measure/ticks.h"

#include <stdint.h>

enum { STREAM_BUFFER_SIZE = 512 }; /* two longest frames */

/* What a common USB adapter holds bytes back for (16 ms), and a little. A delay of 20 ms in a ramp
 * shifts a slope over 1 s by 0.2 %, one of 50 ms by 1.1 %. */
#define STREAM_LATE_NS (20 * CLOCKS_NS_PER_MS)

struct stream {
	const struct decoder *decoder;
	const struct decoder_setup *setup; /* not owned */
	int64_t ns_per_byte; /* bits per character x 1e9 / baud; 0: leave the stamp as it is */
	unsigned char buffer[STREAM_BUFFER_SIZE];
	size_t length;
	bool skipping;         /* what ends next is the tail of something that was cut */
	bool astray;           /* the bytes before were no frame: more of them are the same error */
	struct mono_time last; /* time of the newest reading */
	struct ticks ticks;
	bool any;                  /* a reading has come since the port was opened */
	struct mono_time previous; /* stamp of the newest chunk that brought one */
	size_t arrived;            /* bytes since then */
	bool asked;                /* the next reading is a reply ... */
	struct mono_time asked_at; /* ... to the request that went out then */
	int64_t shortest_ns;       /* round trip, slowly forgotten; 0: none yet */
	uint64_t late_count, lost_count, repeated_count; /* readings marked so */
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
/* A request goes out now: what came before it is forgotten, the next reading is its reply. */
void stream_ask(struct stream *stream, struct mono_time now);
/* Calls take once per reading, in order, before returning. */
void stream_feed(struct stream *stream, const unsigned char *bytes, size_t length,
	struct mono_time stamp, stream_take *take, void *context);

#endif
