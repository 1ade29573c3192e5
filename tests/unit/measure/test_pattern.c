/* SPDX-License-Identifier: MIT
 *
 * Patterns of plain lines: what is compiled, what is refused with its place, and lines matched.
 */
#include "measure/decoder.h"
#include "unit/check.h"

#include <string.h>

static int decode(
	const char *pattern, const char *line, struct reading *reading, enum decoder_error *error)
{
	static struct decoder_setup setup;
	struct message why = {""};
	if (!pattern_compile(pattern, &setup.pattern, &why))
		fail_msg("%s: %s", pattern, why.text);
	*error = DECODER_OK;
	return decoder_find("plain")->decode(
		&setup, (const unsigned char *)line, strlen(line), reading, error);
}

static void the_standard_is_what_its_text_says(void **state)
{
	(void)state;
	struct pattern pattern;
	assert_true(pattern_compile(pattern_standard.text, &pattern, NULL));
	assert_int_equal(pattern.step_count, pattern_standard.step_count);
	assert_int_equal(pattern.word_count, pattern_standard.word_count);
	for (size_t i = 0; i < pattern.step_count; i++) {
		assert_int_equal(pattern.steps[i].kind, pattern_standard.steps[i].kind);
		assert_int_equal(pattern.steps[i].word, pattern_standard.steps[i].word);
		assert_int_equal(pattern.steps[i].word_count, pattern_standard.steps[i].word_count);
		assert_int_equal(pattern.steps[i].optional, pattern_standard.steps[i].optional);
	}
	assert_string_equal(pattern.words[0].text, pattern_standard.words[0].text);
	assert_int_equal(pattern.words[0].length, pattern_standard.words[0].length);
	assert_int_equal(pattern.words[0].status, pattern_standard.words[0].status);
}

#define STX "\x02"
#define ETX "\x03"

/* The checksums were computed by hand: '1' ^ '2' = 03, with '*' 29, '1' + '2' = 63; CRC-16/MODBUS
 * of "123456789" is 4B37 (its check value in the catalogue of parametrised CRC algorithms). */
static void lines_match_their_patterns(void **state)
{
	(void)state;
	static const struct {
		const char *pattern, *line;
		int64_t mantissa;
		int exponent;
		enum unit unit;
		unsigned status;
		int64_t counter;
	} cases[] = {
		{"{load} {unit}", "  12.50 kN \r", 1250, -2, UNIT_KILONEWTON, 0, 0},
		{"{load comma} {unit}", " -12,50 kN\n", -1250, -2, UNIT_KILONEWTON, 0, 0},
		{"ST,GS,{load},{unit}", "ST,GS,+  12.5,kN\n", 125, -1, UNIT_KILONEWTON, 0, 0},
		{"{status ST=ok US=motion OL=over},GS,{load}{unit}", "US,GS,-0.5kN\n", -5, -1,
			UNIT_KILONEWTON, READING_MOTION, 0},
		{"{skip 6}{load 8}{skip 1}{unit 2}", "ab cd:   12.50 kN\n", 1250, -2,
			UNIT_KILONEWTON, 0, 0},
		{"{skip}:{load}", "any thing:7\n", 7, 0, UNIT_NONE, 0, 0},
		{"{load} KN", "12.5 KN\n", 125, -1, UNIT_NONE, 0, 0},
		{"{status _=ok M=motion Z=zero}{load}", " 5\n", 5, 0, UNIT_NONE, 0, 0},
		{"{status _=ok M=motion Z=zero}{load}", "Z5\n", 5, 0, UNIT_NONE, READING_ZERO, 0},
		{"{status A=over+motion}{load}", "A5\n", 5, 0, UNIT_NONE,
			READING_OVER | READING_MOTION, 0},
		{"{load ---=invalid UUU=under} {unit?}", "  --- \n", 0, 0, UNIT_NONE,
			READING_INVALID, 0},
		{"{load ---=invalid UUU=under} {unit?}", "UUU kN\n", 0, 0, UNIT_KILONEWTON,
			READING_UNDER | READING_INVALID, 0},
		{"{load ---=invalid UUU=under} {unit?}", "-5\n", -5, 0, UNIT_NONE, 0, 0},
		{"{byte 02}{load}{unit}{end 03}", STX " 1.5 kN" ETX, 15, -1, UNIT_KILONEWTON, 0, 0},
		{"#{sequence},{load}", "#00042,1.5\n", 15, -1, UNIT_NONE, 0, 42},
		{"{sequence 3}{load}", "0421.5\n", 15, -1, UNIT_NONE, 0, 42},
		{"{time ms} {load}", "12.5 3\n", 3, 0, UNIT_NONE, 0, 12500000},
		{"{time s} {load}", "12.5 3\n", 3, 0, UNIT_NONE, 0, INT64_C(12500000000)},
		{"{load}*{checksum xor}", "12*29\n", 12, 0, UNIT_NONE, 0, 0},
		{"{load}{unchecked}*{checksum xor}", "12*03\n", 12, 0, UNIT_NONE, 0, 0},
		{"${checked}{load}{unchecked}*{checksum sum}", "$12*63\n", 12, 0, UNIT_NONE, 0, 0},
		{"{load}{unchecked}*{checksum crc16}", "123456789*4b37\n", 123456789, 0, UNIT_NONE,
			0, 0},
		{"{load} {unit}{unchecked}*{checksum xor}", "1 N*5f\n", 1, 0, UNIT_NEWTON, 0, 0},
		{"{{{load}}", "{7}\n", 7, 0, UNIT_NONE, 0, 0},
	};
	for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); i++) {
		struct reading reading = {0};
		enum decoder_error error;
		const char *line = cases[i].line;
		int used = decode(cases[i].pattern, line, &reading, &error);
		if (used != (int)strlen(line))
			fail_msg("\"%s\" %s: %d, %s", line, cases[i].pattern, used,
				decoder_error_text(error));
		assert_int_equal(reading.value.mantissa, cases[i].mantissa);
		assert_int_equal(reading.value.exponent, cases[i].exponent);
		assert_int_equal(reading.unit, cases[i].unit);
		assert_int_equal(reading.status, cases[i].status);
		assert_int_equal(reading.counter, cases[i].counter);
	}
}

static void other_lines_are_refused_with_their_reason(void **state)
{
	(void)state;
	static const struct {
		const char *pattern, *line;
		enum decoder_error error;
	} cases[] = {
		{"ST,{load}", "US,5\n", DECODER_OTHER_FORM},
		{"ST,{load}", "ST\n", DECODER_OTHER_FORM},
		{"{load 8}", "12.5\n", DECODER_OTHER_FORM},
		{"{load 8}", "12.5 3  \n", DECODER_NO_NUMBER},
		{"{load comma}", "12.5\n", DECODER_TRAILING},
		{"{load} {unit}", "12.5\n", DECODER_BAD_UNIT},
		{"{load} {unit}", "12.5 KN\n", DECODER_BAD_UNIT},
		{"{status S=ok}{load}", "X5\n", DECODER_BAD_STATUS},
		{"{status S=ok}{load}", "\xff\x80\n", DECODER_NOT_TEXT},
		{"{skip 3}{load}", "ab\n", DECODER_OTHER_FORM},
		{"#{sequence},{load}", "#4.5,1\n", DECODER_OTHER_FORM},
		{"#{sequence},{load}", "#,1\n", DECODER_OTHER_FORM},
		{"{load}{unchecked}*{checksum xor}", "12*04\n", DECODER_CHECKSUM},
		{"{load}{unchecked}*{checksum xor}", "13*03\n", DECODER_CHECKSUM},
		{"{load}{unchecked}*{checksum xor}", "12*0g\n", DECODER_OTHER_FORM},
		{"{load}{unchecked}*{checksum xor}", "12*3\n", DECODER_OTHER_FORM},
		{"{load}", STX "5\n", DECODER_NOT_TEXT},
		{"{load}", "5 6\n", DECODER_TRAILING},
	};
	for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); i++) {
		struct reading reading;
		enum decoder_error error;
		int used = decode(cases[i].pattern, cases[i].line, &reading, &error);
		if (used != -(int)strlen(cases[i].line) || error != cases[i].error)
			fail_msg("\"%s\" %s: %d, %s", cases[i].line, cases[i].pattern, used,
				decoder_error_text(error));
	}
}

static void line_ends_behind_another_end_are_harmless(void **state)
{
	(void)state;
	struct reading reading;
	enum decoder_error error;
	assert_int_equal(decode("{load}{end 03}", "\r\n5" ETX, &reading, &error), -1);
	assert_int_equal(error, DECODER_EMPTY);
}

static void patterns_are_refused_with_the_place(void **state)
{
	(void)state;
	static const struct {
		const char *pattern, *says;
	} cases[] = {
		{"", "{load}"},
		{"ST,{unit}", "{load}"},
		{"{load}{load}", "character 7"},
		{"ab{lode}", "character 3"},
		{"{load", "not closed"},
		{"{}{load}", "nothing stands"},
		{"{load fast}", "fast"},
		{"{load OL=ok}", "cannot be ok"},
		{"{load}{status}", "status"},
		{"{load}{status A=bad}", "A=bad"},
		{"{load}{status ABCDEFGHI=over}", "ABCDEFGHI"},
		{"{load}{checksum md5}", "md5"},
		{"{load}{end 3}", "hex"},
		{"{load}{byte 00}", "hex"},
		{"{load}{time h}", "h"},
		{"{load}{time}", "time"},
		{"{load}{sequence}{time ms}", "already"},
		{"{load}{sequence every=10}", "every=10"},
		{"{load}{sequence wrap=0}", "wrap=0"},
		{"{load 0}", "0"},
	};
	for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); i++) {
		struct pattern pattern;
		struct message why = {""};
		if (pattern_compile(cases[i].pattern, &pattern, &why))
			fail_msg("%s is compiled", cases[i].pattern);
		if (!strstr(why.text, cases[i].says))
			fail_msg("%s: %s", cases[i].pattern, why.text);
	}
}

static void counters_are_described(void **state)
{
	(void)state;
	struct pattern pattern;
	assert_true(pattern_compile("{load}", &pattern, NULL));
	assert_false(pattern.counter.present);
	assert_true(pattern_compile("{sequence wrap=65536 every=2.5ms},{load}", &pattern, NULL));
	assert_true(pattern.counter.present && pattern.counter.per_reading);
	assert_int_equal(pattern.counter.wrap, 65536);
	assert_int_equal(pattern.counter.tick_ns, 2500000);
	assert_true(pattern_compile("{time us wrap=4294967296} {load}", &pattern, NULL));
	assert_true(pattern.counter.present && !pattern.counter.per_reading);
	assert_int_equal(pattern.counter.wrap, INT64_C(4294967296000));
	assert_int_equal(pattern.counter.tick_ns, 1);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(the_standard_is_what_its_text_says),
		cmocka_unit_test(lines_match_their_patterns),
		cmocka_unit_test(other_lines_are_refused_with_their_reason),
		cmocka_unit_test(line_ends_behind_another_end_are_harmless),
		cmocka_unit_test(patterns_are_refused_with_the_place),
		cmocka_unit_test(counters_are_described),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
