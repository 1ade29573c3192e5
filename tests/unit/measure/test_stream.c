/* SPDX-License-Identifier: MIT
 *
 * Streams: any cut into chunks gives the same readings, a cut line never gives one, and times are
 * moved back by the bytes on the wire.
 */
#include "measure/stream.h"
#include "unit/check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const struct decoder_setup standard;

/* 9600 Bd, 8N1: 10 bits a byte, 1.041667 ms. */
#define NS_PER_BYTE_9600 INT64_C(1041667)

enum { KEPT_MAX = 4096 };

struct kept {
	size_t count;
	struct reading readings[KEPT_MAX];
};

static void keep(void *context, const struct reading *reading)
{
	struct kept *kept = context;
	assert_true(kept->count < KEPT_MAX);
	kept->readings[kept->count++] = *reading;
}

static void feed(struct stream *stream, const char *text, int64_t stamp_ns, struct kept *kept)
{
	stream_feed(stream, (const unsigned char *)text, strlen(text), (struct mono_time){stamp_ns},
		keep, kept);
}

/* A stream that has seen the end of a line already. */
static void init_synchronised(struct stream *stream, int64_t ns_per_byte)
{
	struct kept none = {0};
	stream_init(stream, decoder_find("plain"), &standard, ns_per_byte);
	feed(stream, "\r\n", INT64_MIN / 2, &none);
	assert_int_equal(none.count, 0);
	assert_int_equal(stream->error_count, 0);
	assert_int_equal(stream->dropped_byte_count, 0);
}

static void several_frames_in_one_chunk_are_spread_back_in_time(void **state)
{
	(void)state;
	struct stream stream;
	struct kept kept = {0};
	init_synchronised(&stream, NS_PER_BYTE_9600);
	/* CR LF: the reading ends with the CR. 7 bytes a line. */
	feed(&stream, "1 kN \r\n2 kN \r\n3 kN \r\n", 1000000000, &kept);
	assert_int_equal(kept.count, 3);
	for (int i = 0; i < 3; i++) {
		assert_int_equal(kept.readings[i].value.mantissa, i + 1);
		assert_int_equal(kept.readings[i].time.ns,
			1000000000 - (int64_t)(1 + 7 * (2 - i)) * NS_PER_BYTE_9600);
	}
	assert_int_equal(stream.reading_count, 3);
	assert_int_equal(stream.error_count, 0);
}

static void a_line_in_two_chunks_is_timed_by_the_second(void **state)
{
	(void)state;
	struct stream stream;
	struct kept kept = {0};
	init_synchronised(&stream, NS_PER_BYTE_9600);
	feed(&stream, "12.5", 1000, &kept);
	assert_int_equal(kept.count, 0);
	feed(&stream, "0 kN\r", 500000000, &kept);
	assert_int_equal(kept.count, 1);
	assert_int_equal(kept.readings[0].time.ns, 500000000);
	feed(&stream, "\n", 501041667, &kept);
	assert_int_equal(kept.count, 1);
	assert_int_equal(stream.error_count, 0);
	assert_int_equal(stream.dropped_byte_count, 0);
}

static void times_rise_strictly(void **state)
{
	(void)state;
	struct stream stream;
	struct kept kept = {0};
	init_synchronised(&stream, NS_PER_BYTE_9600);
	feed(&stream, "1 N\n", 100000000, &kept);
	/* A stall: seven lines that were sent before the first stamp could have been theirs. */
	feed(&stream, "2 N\n3 N\n4 N\n5 N\n6 N\n7 N\n8 N\n", 110000000, &kept);
	assert_int_equal(kept.count, 8);
	for (size_t i = 1; i < kept.count; i++)
		assert_true(kept.readings[i].time.ns > kept.readings[i - 1].time.ns);
	assert_int_equal(kept.readings[1].time.ns, 100000001);
	assert_int_equal(kept.readings[7].time.ns, 110000000);
}

static void without_a_line_speed_the_stamp_stays(void **state)
{
	(void)state;
	struct stream stream;
	struct kept kept = {0};
	init_synchronised(&stream, 0);
	feed(&stream, "1 N\n2 N\n", 77, &kept);
	assert_int_equal(kept.readings[0].time.ns, 77);
	assert_int_equal(kept.readings[1].time.ns, 78);
}

static void half_a_line_at_opening_is_no_reading(void **state)
{
	(void)state;
	struct stream stream;
	struct kept kept = {0};
	stream_init(&stream, decoder_find("plain"), &standard, 0);
	feed(&stream, "25.20 kN\r\n125.30 kN\r\n", 10, &kept);
	assert_int_equal(kept.count, 1);
	assert_int_equal(kept.readings[0].value.mantissa, 12530);
	assert_int_equal(stream.error_count, 0);
	assert_int_equal(stream.dropped_byte_count, 9);

	/* Half a line that is not even a number is no error either. */
	stream_reset(&stream);
	feed(&stream, "N\r\n", 15, &kept);
	assert_int_equal(stream.error_count, 0);

	/* The same after the port was opened again. */
	feed(&stream, "125.4", 20, &kept);
	stream_reset(&stream);
	feed(&stream, "5.50 kN\n125.60 kN\n", 30, &kept);
	assert_int_equal(kept.count, 2);
	assert_int_equal(kept.readings[1].value.mantissa, 12560);
	assert_int_equal(stream.error_count, 0);
	assert_int_equal(stream.reading_count, 2);
}

static void the_tail_of_a_long_line_is_no_reading(void **state)
{
	(void)state;
	struct stream stream;
	struct kept kept = {0};
	init_synchronised(&stream, 0);
	char line[600];
	enum { CAP = 128 };
	memset(line, 'x', sizeof(line));
	/* The cap falls just before something that looks like a reading. */
	snprintf(line + CAP, sizeof(line) - CAP, "12.5 kN\n3 kN\n");
	feed(&stream, line, 10, &kept);
	assert_int_equal(kept.count, 1);
	assert_int_equal(kept.readings[0].value.mantissa, 3);
	assert_int_equal(stream.error_count, 1);
	assert_int_equal(stream.last_error, DECODER_TOO_LONG);
	assert_int_equal(stream.dropped_byte_count, CAP + 8);
}

static void errors_are_counted_and_the_next_line_is_read(void **state)
{
	(void)state;
	struct stream stream;
	struct kept kept = {0};
	init_synchronised(&stream, 0);
	feed(&stream, "1 N\nwhat\n2 N\n\xff\xfe\n\n\n3 N\n4 M\n", 10, &kept);
	assert_int_equal(kept.count, 3);
	assert_int_equal(kept.readings[2].value.mantissa, 3);
	assert_int_equal(stream.error_count, 3);
	assert_int_equal(stream.dropped_byte_count, 5 + 3 + 4);
	assert_int_equal(stream.last_error, DECODER_BAD_UNIT);
}

/* Lines of ten bytes at 9600 baud, one every 100 ms; the reader is held up for half a second. */
static void what_piles_up_is_late_but_for_the_last(void **state)
{
	(void)state;
	struct stream stream;
	struct kept kept = {0};
	init_synchronised(&stream, NS_PER_BYTE_9600);
	for (int i = -199; i <= 0; i++)
		feed(&stream, "   0.0 kN\n", i * INT64_C(100000000), &kept);
	kept.count = 0;
	feed(&stream, "   1.0 kN\n", 100000000, &kept);
	feed(&stream, "   2.0 kN\n", 200000000, &kept);
	feed(&stream, "   3.0 kN\n   4.0 kN\n   5.0 kN\n   6.0 kN\n   7.0 kN\n", 700000000, &kept);
	feed(&stream, "   8.0 kN\n", 800000000, &kept);
	assert_int_equal(kept.count, 8);
	for (size_t i = 0; i < 8; i++)
		assert_int_equal(kept.readings[i].status, i >= 2 && i < 6 ? READING_LATE : 0);
	assert_int_equal(stream.late_count, 4);
	/* Stored as it was stamped, marked or not. */
	for (size_t i = 2; i < 7; i++)
		assert_int_equal(kept.readings[i].time.ns + kept.readings[i].moved_ns, 700000000);
	assert_int_equal(kept.readings[6].time.ns, 700000000);
}

/* An adapter that holds bytes back for 16 ms delivers a 1 kHz cell in heaps, evenly. */
static void even_heaps_are_not_late(void **state)
{
	(void)state;
	struct stream stream;
	struct kept kept = {0};
	init_synchronised(&stream, 10851);
	for (int chunk = 0; chunk < 100; chunk++) {
		char text[16 * 8 + 1];
		for (size_t i = 0; i < 16; i++)
			snprintf(text + 8 * i, 9, "%4d kN\n", chunk);
		feed(&stream, text, (1 + chunk) * INT64_C(16000000), &kept);
	}
	assert_int_equal(kept.count, 1600);
	assert_int_equal(stream.late_count, 0);
}

/* The shortest round trip is what the instrument needs; what exceeds it by more is ours. */
static void a_reply_that_was_held_up_is_late(void **state)
{
	(void)state;
	static const int64_t trips_ms[] = {30, 32, 30, 49, 60, 31, 200};
	struct stream stream;
	struct kept kept = {0};
	stream_init(&stream, decoder_find("sma"), &standard, 0);
	for (size_t i = 0; i < 7; i++) {
		int64_t asked_ns = (int64_t)i * 1000000000;
		stream_ask(&stream, (struct mono_time){asked_ns});
		feed(&stream, "\n 1G       1.250kg \r", asked_ns + trips_ms[i] * 1000000, &kept);
		assert_int_equal(kept.count, i + 1);
		assert_int_equal(kept.readings[i].status, trips_ms[i] > 50 ? READING_LATE : 0);
	}
	/* What is left of a reply is forgotten with the next request. */
	feed(&stream, "\n 1G       1.2", 8000000000, &kept);
	stream_ask(&stream, (struct mono_time){9000000000});
	feed(&stream, "\n 1G       1.250kg \r", 9030000000, &kept);
	assert_int_equal(kept.count, 8);
	assert_int_equal(stream.error_count, 0);
}

/* The same pile as above with a count: each reading has its own time, and none is late. */
static void a_counter_tells_the_times_of_a_pile(void **state)
{
	(void)state;
	static struct decoder_setup counted;
	struct stream stream;
	struct kept kept = {0};
	assert_true(
		pattern_compile("{sequence wrap=10 every=100ms} {load}", &counted.pattern, NULL));
	stream_init(&stream, decoder_find("plain"), &counted, NS_PER_BYTE_9600);
	feed(&stream, "\n7 1\n", 100000000, &kept);
	feed(&stream, "8 2\n", 200000000, &kept);
	feed(&stream, "9 3\n0 4\n1 5\n2 6\n3 7\n", 700000000, &kept);
	feed(&stream, "3 7\n5 9\n", 900000000, &kept);
	assert_int_equal(kept.count, 9);
	for (size_t i = 0; i < 7; i++) {
		assert_int_equal(kept.readings[i].status, 0);
		check_near((double)kept.readings[i].time.ns, 1e8 * (double)(i + 1), 1e6);
	}
	assert_int_equal(kept.readings[2].time.ns + kept.readings[2].moved_ns, 700000000);
	assert_int_equal(kept.readings[7].status, READING_REPEATED);
	assert_int_equal(kept.readings[8].status, READING_LOST);
	assert_int_equal(stream.lost_count, 1);
	assert_int_equal(stream.repeated_count, 1);
	assert_int_equal(stream.late_count, 0);
}

/* A long text of good lines, bad lines and noise, from a seed. */
static size_t make_text(unsigned char *text, size_t size)
{
	char too_long[200];
	snprintf(too_long, sizeof(too_long), "%190s\n", "9 N");
	const char *const lines[] = {"  12.50 kN\r\n", "-   0.05 kN\n", "OL\r", "garbage\n",
		"7 N\r", "\r\n", "1 kN 2\n", too_long};
	size_t length = 0;
	while (length + 300 < size) {
		if (lrand48() % 10 == 0) {
			for (long i = lrand48() % 100; i > 0; i--)
				text[length++] = (unsigned char)lrand48();
			continue;
		}
		const char *line = lines[(size_t)lrand48() % (sizeof(lines) / sizeof(lines[0]))];
		memcpy(text + length, line, strlen(line));
		length += strlen(line);
	}
	return length;
}

/* Feeds the text in chunks of 1 to chunk_max bytes, each stamped with the time of its last byte. */
static void feed_cut(struct stream *stream, const unsigned char *text, size_t length,
	size_t chunk_max, struct kept *kept)
{
	for (size_t at = 0; at < length;) {
		size_t part = 1 + (size_t)lrand48() % chunk_max;
		if (part > length - at)
			part = length - at;
		at += part;
		stream_feed(stream, text + at - part, part,
			(struct mono_time){(int64_t)at * NS_PER_BYTE_9600}, keep, kept);
	}
}

static void any_cut_gives_the_same_readings_and_times(void **state)
{
	(void)state;
	static struct kept whole, cut;
	static unsigned char text[16000];
	for (long seed = 1; seed <= 20; seed++) {
		srand48(seed);
		size_t length = make_text(text, sizeof(text));
		struct stream once, again;
		stream_init(&once, decoder_find("plain"), &standard, NS_PER_BYTE_9600);
		whole.count = 0;
		feed_cut(&once, text, length, 1, &whole);
		assert_true(whole.count > 100);
		static const size_t chunks[] = {2, 7, 64, 511, 5000, sizeof(text)};
		for (size_t i = 0; i < sizeof(chunks) / sizeof(chunks[0]); i++) {
			stream_init(&again, decoder_find("plain"), &standard, NS_PER_BYTE_9600);
			cut.count = 0;
			feed_cut(&again, text, length, chunks[i], &cut);
			if (cut.count != whole.count)
				fail_msg("seed %ld, chunks of %zu: %zu readings, not %zu", seed,
					chunks[i], cut.count, whole.count);
			for (size_t j = 0; j < cut.count; j++) {
				const struct reading *a = &whole.readings[j], *b = &cut.readings[j];
				assert_int_equal(a->time.ns, b->time.ns);
				assert_int_equal(a->value.mantissa, b->value.mantissa);
				assert_int_equal(a->status, b->status);
			}
			assert_int_equal(again.error_count, once.error_count);
			assert_int_equal(again.dropped_byte_count, once.dropped_byte_count);
		}
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(several_frames_in_one_chunk_are_spread_back_in_time),
		cmocka_unit_test(a_line_in_two_chunks_is_timed_by_the_second),
		cmocka_unit_test(times_rise_strictly),
		cmocka_unit_test(without_a_line_speed_the_stamp_stays),
		cmocka_unit_test(half_a_line_at_opening_is_no_reading),
		cmocka_unit_test(the_tail_of_a_long_line_is_no_reading),
		cmocka_unit_test(errors_are_counted_and_the_next_line_is_read),
		cmocka_unit_test(what_piles_up_is_late_but_for_the_last),
		cmocka_unit_test(even_heaps_are_not_late),
		cmocka_unit_test(a_reply_that_was_held_up_is_late),
		cmocka_unit_test(a_counter_tells_the_times_of_a_pile),
		cmocka_unit_test(any_cut_gives_the_same_readings_and_times),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
