/* SPDX-License-Identifier: MIT
 *
 * The table of decoders, and the `plain` protocol line by line.
 */
#include "measure/decoder.h"
#include "unit/check.h"

#include <stdlib.h>
#include <string.h>

static const struct decoder_setup standard;

static int decode(const char *line, struct reading *reading, enum decoder_error *error)
{
	memset(reading, 0, sizeof(*reading));
	*error = DECODER_OK;
	return decoder_find("plain")->decode(
		&standard, (const unsigned char *)line, strlen(line), reading, error);
}

static void the_table_finds_its_rows(void **state)
{
	(void)state;
	size_t count = 0;
	for (const struct decoder *row = decoder_table(); row->name; row++) {
		assert_ptr_equal(decoder_find(row->name), row);
		assert_true(strlen(row->summary) > 0);
		assert_in_range(row->frame_max, 1, 256);
		count++;
	}
	assert_true(count >= 1);
	assert_null(decoder_find("plane"));
	assert_null(decoder_find(""));
}

static void every_error_has_words(void **state)
{
	(void)state;
	for (int i = DECODER_OK; i < DECODER_ERROR_COUNT; i++)
		assert_true(strlen(decoder_error_text((enum decoder_error)i)) > 5);
}

static void lines_are_read(void **state)
{
	(void)state;
	static const struct {
		const char *line;
		int64_t mantissa;
		int exponent;
		enum unit unit;
		unsigned status;
	} lines[] = {
		{"12.50 kN\n", 1250, -2, UNIT_KILONEWTON, 0},
		{"12.50kN\r", 1250, -2, UNIT_KILONEWTON, 0},
		{"   -0.05 kN\r", -5, -2, UNIT_KILONEWTON, 0},
		{"-   12.5 kN  \n", -125, -1, UNIT_KILONEWTON, 0},
		{"+  7\n", 7, 0, UNIT_NONE, 0},
		{"000012.5 lb\n", 125, -1, UNIT_POUND_FORCE, 0},
		{"  123456\n", 123456, 0, UNIT_NONE, 0},
		{"5. N\n", 5, 0, UNIT_NEWTON, 0},
		{".5 t\n", 5, -1, UNIT_TONNE_FORCE, 0},
		{"OL\n", 0, 0, UNIT_NONE, READING_OVER | READING_INVALID},
		{"   OL  \r", 0, 0, UNIT_NONE, READING_OVER | READING_INVALID},
	};
	for (size_t i = 0; i < sizeof(lines) / sizeof(lines[0]); i++) {
		struct reading reading;
		enum decoder_error error;
		int used = decode(lines[i].line, &reading, &error);
		if (used != (int)strlen(lines[i].line))
			fail_msg("\"%s\": %s", lines[i].line, decoder_error_text(error));
		assert_int_equal(reading.value.mantissa, lines[i].mantissa);
		assert_int_equal(reading.value.exponent, lines[i].exponent);
		assert_int_equal(reading.unit, lines[i].unit);
		assert_int_equal(reading.status, lines[i].status);
	}
}

static void bad_lines_are_refused_whole_with_their_reason(void **state)
{
	(void)state;
	static const struct {
		const char *line;
		enum decoder_error error;
	} lines[] = {
		{"\n", DECODER_EMPTY},
		{"\r", DECODER_EMPTY},
		{"   \n", DECODER_NO_NUMBER},
		{"kN\n", DECODER_NO_NUMBER},
		{"----\n", DECODER_NO_NUMBER},
		{"-\n", DECODER_NO_NUMBER},
		{".\n", DECODER_NO_NUMBER},
		{"- -5 kN\n", DECODER_NO_NUMBER},
		{"OLD\n", DECODER_BAD_UNIT},
		{"OL 5\n", DECODER_BAD_UNIT},
		{"-OL\n", DECODER_NO_NUMBER},
		{"1234567890123456789 N\n", DECODER_NO_NUMBER},
		{"12.50 KN\n", DECODER_BAD_UNIT},
		{"12,50 kN\n", DECODER_BAD_UNIT},
		{"1.2.3 kN\n", DECODER_BAD_UNIT},
		{"1e3 kN\n", DECODER_BAD_UNIT},
		{"12.50 kN 3\n", DECODER_TRAILING},
		{"12.50 kN kN\n", DECODER_TRAILING},
		{"12.\x01"
		 "50 kN\n",
			DECODER_NOT_TEXT},
		{"12.50\tkN\n", DECODER_NOT_TEXT},
		{"\xb1"
		 "2.50 kN\n",
			DECODER_NOT_TEXT},
		{"\x7f\n", DECODER_NOT_TEXT},
	};
	for (size_t i = 0; i < sizeof(lines) / sizeof(lines[0]); i++) {
		struct reading reading;
		enum decoder_error error;
		int used = decode(lines[i].line, &reading, &error);
		if (used != -(int)strlen(lines[i].line) || error != lines[i].error)
			fail_msg("\"%s\": %d, %s", lines[i].line, used, decoder_error_text(error));
	}
}

static void a_nul_byte_is_no_text(void **state)
{
	(void)state;
	struct reading reading;
	enum decoder_error error;
	static const unsigned char line[] = "1\0002 kN\n";
	int used =
		decoder_find("plain")->decode(&standard, line, sizeof(line) - 1, &reading, &error);
	assert_int_equal(used, -(int)(sizeof(line) - 1));
	assert_int_equal(error, DECODER_NOT_TEXT);
}

static void an_unfinished_line_waits_up_to_the_cap(void **state)
{
	(void)state;
	const struct decoder *plain = decoder_find("plain");
	unsigned char line[256];
	struct reading reading;
	enum decoder_error error;
	memset(line, ' ', sizeof(line));
	for (size_t length = 0; length < plain->frame_max; length++)
		assert_int_equal(plain->decode(&standard, line, length, &reading, &error), 0);
	for (size_t length = plain->frame_max; length <= sizeof(line); length++) {
		int used = plain->decode(&standard, line, length, &reading, &error);
		assert_int_equal(used, -(int)plain->frame_max);
		assert_int_equal(error, DECODER_TOO_LONG);
	}
	/* The longest line that fits. */
	line[plain->frame_max - 2] = '7';
	line[plain->frame_max - 1] = '\n';
	assert_int_equal(plain->decode(&standard, line, sizeof(line), &reading, &error),
		(int)plain->frame_max);
	assert_int_equal(reading.value.mantissa, 7);
}

static void only_the_first_line_is_taken(void **state)
{
	(void)state;
	struct reading reading;
	enum decoder_error error;
	assert_int_equal(decode("1 kN\n2 kN\n", &reading, &error), 5);
	assert_int_equal(reading.value.mantissa, 1);
	assert_int_equal(decode("x kN\r\n2 kN\n", &reading, &error), -5);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(the_table_finds_its_rows),
		cmocka_unit_test(every_error_has_words),
		cmocka_unit_test(lines_are_read),
		cmocka_unit_test(bad_lines_are_refused_whole_with_their_reason),
		cmocka_unit_test(a_nul_byte_is_no_text),
		cmocka_unit_test(an_unfinished_line_waits_up_to_the_cap),
		cmocka_unit_test(only_the_first_line_is_taken),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
