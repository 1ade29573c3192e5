/* SPDX-License-Identifier: MIT
 *
 * SMA SCP-0499. The frames are built by hand from the layout of the standard reply (values from
 * memory of the standard, not from its text): LF s r n m f, ten characters of weight, three of
 * unit, CR.
 */
#include "measure/sma.h"
#include "measure/stream.h"
#include "unit/check.h"

#include <string.h>

static const struct decoder_setup setup;

static void frames_are_read(void **state)
{
	(void)state;
	static const struct {
		const char *frame;
		int64_t mantissa;
		int exponent;
		enum unit unit;
		unsigned status;
	} cases[] = {
		{"\n 1G       1.250kg \r", 1250, -3, UNIT_KILOGRAM_FORCE, 0},
		{"\n 1GM    441.790kg \r", 441790, -3, UNIT_KILOGRAM_FORCE, READING_MOTION},
		{"\nZ1G           0lb \r", 0, 0, UNIT_POUND_FORCE, READING_ZERO},
		{"\nO1G       99999lb \r", 99999, 0, UNIT_POUND_FORCE, READING_OVER},
		{"\nU1G        -500lb \r", -500, 0, UNIT_POUND_FORCE, READING_UNDER},
		{"\n 2g   -   12.50t__\r", -1250, -2, UNIT_TONNE_FORCE, 0},
		{"\n 1G  _____1.250kN_\r", 1250, -3, UNIT_KILONEWTON, 0},
		{"\nE1GM ----------kg \r", 0, 0, UNIT_KILOGRAM_FORCE,
			READING_INVALID | READING_ZERO_ERROR | READING_MOTION},
		{"\nI1G  ----------kg \r", 0, 0, UNIT_KILOGRAM_FORCE,
			READING_INVALID | READING_ZERO_ERROR},
		{"\nT1G  ----------kg \r", 0, 0, UNIT_KILOGRAM_FORCE, READING_INVALID},
	};
	for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); i++) {
		struct reading reading;
		enum decoder_error error = DECODER_OK;
		assert_int_equal(strlen(cases[i].frame), SMA_FRAME_SIZE);
		int used = sma_decode(&setup, (const unsigned char *)cases[i].frame, SMA_FRAME_SIZE,
			&reading, &error);
		if (used != SMA_FRAME_SIZE)
			fail_msg("case %zu: %d, %s", i, used, decoder_error_text(error));
		assert_int_equal(reading.value.mantissa, cases[i].mantissa);
		assert_int_equal(reading.value.exponent, cases[i].exponent);
		assert_int_equal(reading.unit, cases[i].unit);
		assert_int_equal(reading.status, cases[i].status);
	}
}

static void what_is_no_load_is_named(void **state)
{
	(void)state;
	static const struct {
		const char *frame;
		int used;
		enum decoder_error error;
	} cases[] = {
		{"\n?\r", -3, DECODER_NOT_KNOWN},
		{"\n!\r", -3, DECODER_NOT_HEARD},
		{"\n 1N       1.250kg \r", -20, DECODER_NOT_GROSS},
		{"\n 1n       1.250kg \r", -20, DECODER_NOT_GROSS},
		{"\n 1T       1.250kg \r", -20, DECODER_NOT_GROSS},
		{"\n 1X       1.250kg \r", -20, DECODER_OTHER_FORM},
		{"\nX1G       1.250kg \r", -20, DECODER_BAD_STATUS},
		{"\n 1G       1,250kg \r", -20, DECODER_NO_NUMBER},
		{"\n 1G      -      kg \r", -20, DECODER_TOO_LONG},
		{"\n 1G      -     kg \r", -20, DECODER_NO_NUMBER},
		{"\n 1G        1e3kg \r", -19, DECODER_OTHER_FORM},
		{"\n 1G         1e3kg \r", -20, DECODER_NO_NUMBER},
		{"\n 1G       --1.5kg \r", -20, DECODER_NO_NUMBER},
		{"\n 1G       1.250oz \r", -20, DECODER_BAD_UNIT},
		{"\n 1G       1.250   \r", -20, DECODER_BAD_UNIT},
		{"\n 1G       1.\xb2"
		 "50kg \r",
			-20, DECODER_NOT_TEXT},
		{"\n 1G   1.250kg \r", -16, DECODER_OTHER_FORM},
		{"\n 1G       1.2\n", -14, DECODER_OTHER_FORM}, /* its CR was lost */
		{"1.250kg \r", -8, DECODER_NO_FRAME},
		{"\r", -1, DECODER_EMPTY},
		{"\n\n", -1, DECODER_EMPTY},
		{"\r\n", -1, DECODER_EMPTY},
	};
	for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); i++) {
		struct reading reading;
		enum decoder_error error = DECODER_OK;
		int used = sma_decode(&setup, (const unsigned char *)cases[i].frame,
			strlen(cases[i].frame), &reading, &error);
		if (used != cases[i].used || error != cases[i].error)
			fail_msg("case %zu: %d, %s", i, used, decoder_error_text(error));
	}
}

static void it_asks_for_one_weight_or_for_all(void **state)
{
	(void)state;
	unsigned char bytes[DECODER_REQUEST_MAX];
	assert_int_equal(sma_ask(&setup, bytes), 3);
	assert_memory_equal(bytes, "\nW\r", 3);
	assert_int_equal(sma_ask_repeated(&setup, bytes), 3);
	assert_memory_equal(bytes, "\nR\r", 3);
}

struct kept {
	size_t count;
	int64_t mantissas[8];
};

static void keep(void *context, const struct reading *reading)
{
	struct kept *kept = context;
	assert_true(kept->count < 8);
	kept->mantissas[kept->count++] = reading->value.mantissa;
}

/* Junk, a frame, half a frame, two frames at once, one that is too long, one more. */
static const char capture[] = "50kg \r\n 1G       1.250kg \r\n 1G       1.2\n 1G       1.251kg \r"
			      "\n 1G       1.252kg \r\n 1G        1.253kg \r\n 1G       1.254kg \r";

static void any_cut_gives_the_same_readings(void **state)
{
	(void)state;
	for (size_t chunk = 1; chunk < sizeof(capture); chunk++) {
		struct stream stream;
		struct kept kept = {0};
		stream_init(&stream, decoder_find("sma"), &setup, 0);
		for (size_t at = 0; at < sizeof(capture) - 1; at += chunk) {
			size_t left = sizeof(capture) - 1 - at;
			stream_feed(&stream, (const unsigned char *)capture + at,
				left < chunk ? left : chunk, (struct mono_time){0}, keep, &kept);
		}
		assert_int_equal(kept.count, 4);
		assert_int_equal(kept.mantissas[0], 1250);
		assert_int_equal(kept.mantissas[1], 1251);
		assert_int_equal(kept.mantissas[2], 1252);
		assert_int_equal(kept.mantissas[3], 1254);
		/* The junk, the half frame, the long one. */
		assert_int_equal(stream.error_count, 3);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(frames_are_read),
		cmocka_unit_test(what_is_no_load_is_named),
		cmocka_unit_test(it_asks_for_one_weight_or_for_all),
		cmocka_unit_test(any_cut_gives_the_same_readings),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
