/* SPDX-License-Identifier: MIT
 *
 * The skeleton of a cell protocol, played as every protocol must be: whole, byte by byte, with junk
 * before it, with a frame that is damaged.
 */
#include "measure/stream.h"
#include "skeleton_decoder.h"
#include "unit/check.h"

#include <string.h>

static const struct decoder_setup standard;

static const struct decoder skeleton = {
	.name = "skeleton",
	.summary = "six bytes a reading",
	.frame_max = SKELETON_FRAME_SIZE,
	.start_marked = true,
	.decode = skeleton_decode,
};

struct kept {
	size_t count;
	struct reading readings[8];
};

static void keep(void *context, const struct reading *reading)
{
	struct kept *kept = context;
	assert_true(kept->count < 8);
	kept->readings[kept->count++] = *reading;
}

/* Junk, 1000 counts, -1 count over range, a damaged frame, 2 counts (whose last byte but one looks
 * like a start). */
static const unsigned char capture[] = {0xff, 0x00, 0x02, 0x00, 0x00, 0x03, 0xe8, 0x13, 0x02, 0x01,
	0xff, 0xff, 0xff, 0x00, 0x02, 0x00, 0x00, 0x00, 0x05, 0x00, 0x02, 0x00, 0x00, 0x00, 0x02,
	0xfc};

static void check_capture(size_t chunk)
{
	struct stream stream;
	struct kept kept = {0};
	stream_init(&stream, &skeleton, &standard, 0);
	for (size_t at = 0; at < sizeof(capture); at += chunk) {
		size_t part = sizeof(capture) - at < chunk ? sizeof(capture) - at : chunk;
		stream_feed(&stream, capture + at, part, (struct mono_time){0}, keep, &kept);
	}
	assert_int_equal(kept.count, 3);
	assert_int_equal(kept.readings[0].value.mantissa, 1000);
	assert_int_equal(kept.readings[0].status, 0);
	assert_int_equal(kept.readings[1].value.mantissa, -1);
	assert_int_equal(kept.readings[1].status, READING_OVER);
	assert_int_equal(kept.readings[2].value.mantissa, 2);
	assert_int_equal(stream.dropped_byte_count, 2 + SKELETON_FRAME_SIZE);
}

static void any_cut_gives_the_same_readings(void **state)
{
	(void)state;
	for (size_t chunk = 1; chunk <= sizeof(capture); chunk++)
		check_capture(chunk);
}

int main(void)
{
	const struct CMUnitTest tests[] = {cmocka_unit_test(any_cut_gives_the_same_readings)};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
