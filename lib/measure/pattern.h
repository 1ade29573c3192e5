/* SPDX-License-Identifier: MIT
 *
 * The form of a text line that an indicator sends, as the config writes it:
 *
 *	pattern = ST,{status GS=ok OL=over},{load 8},{unit}*{checksum xor}
 *
 * A pattern is compiled once and matched against each line. What stands outside braces must stand
 * in the line; a blank stands for any number of blanks, or none. `{{` is a brace, `{byte 02}` a
 * byte that cannot be typed. In braces:
 *
 *	{load}        the value: sign, digits, decimal point; blanks before it and behind its sign.
 *	              {load 8}: it fills exactly 8 characters; {load comma}: decimal comma;
 *	              {load OL=over UL=under ---=invalid}: what may stand in its place
 *	{unit}        a unit that the program knows; {unit?}: it may be missing; {unit 3}
 *	{status ...}  one of the texts listed, each with what it says, joined by +:
 *	              {status _=ok M=motion Z=zero O=over U=under E=invalid}; `_` is a blank
 *	{skip 5}      any 5 characters; {skip}: up to the character that follows in the pattern
 *	{sequence}    the cell's own count of readings; {sequence wrap=65536 every=10ms}: begins
 *	              again at 0 instead of 65536, and a reading is taken every 10 ms
 *	{time ms}     the cell's own clock, in s, ms or us; {time us wrap=4294967296}
 *	{checksum xor} two hex digits over the bytes before it; also sum (modulo 256), and crc16 (as
 *	              Modbus has it, four digits). {checked} and {unchecked}: where the bytes that
 *	              it covers begin and end, instead
 *	{end 03}      the byte that ends a line; without it CR, LF or both
 *
 * Blanks at the end of a line are passed over. A line that does not fit is refused as a whole.
 */
#ifndef MEASURE_PATTERN_H
#define MEASURE_PATTERN_H

#include "base/message.h"
#include "measure/reading.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum {
	PATTERN_SIZE = 128, /* of the text, its NUL included */
	PATTERN_STEPS_MAX = 24,
	PATTERN_WORDS_MAX = 16,
	PATTERN_WORD_SIZE = 8,
};

enum pattern_kind {
	PATTERN_LITERAL,
	PATTERN_BLANKS,
	PATTERN_LOAD,
	PATTERN_UNIT,
	PATTERN_STATUS,
	PATTERN_SKIP,
	PATTERN_SEQUENCE,
	PATTERN_TIME,
	PATTERN_CHECKED,
	PATTERN_UNCHECKED,
	PATTERN_CHECKSUM,
};

enum pattern_checksum {
	PATTERN_XOR,
	PATTERN_SUM,
	PATTERN_CRC16,
};

struct pattern_step {
	enum pattern_kind kind;
	size_t width; /* in characters; 0: as many as belong to it */
	unsigned char literal;
	bool optional;
	bool comma;
	enum pattern_checksum checksum;
	int exponent; /* of a time: 10^exponent s is its unit */
	size_t word, word_count;
};

struct pattern_word {
	char text[PATTERN_WORD_SIZE];
	size_t length;
	unsigned status;
};

/* The counter of a cell: ticks of tick_ns, or of unknown length (0); back to 0 at wrap (0: never).
 */
struct pattern_counter {
	bool present;
	int64_t wrap;
	int64_t tick_ns;
	bool per_reading; /* it rises by one with each reading */
};

/* Value; all zero: the standard pattern. */
struct pattern {
	char text[PATTERN_SIZE];
	unsigned char end; /* 0: CR, LF or both */
	struct pattern_counter counter;
	size_t step_count, word_count;
	struct pattern_step steps[PATTERN_STEPS_MAX];
	struct pattern_word words[PATTERN_WORDS_MAX];
};

/* "{load OL=over} {unit?}": the line that most indicators send. */
extern const struct pattern pattern_standard;

/* False: why says what is meant, and where in the text. */
bool pattern_compile(const char *text, struct pattern *pattern, struct message *why);

#endif
