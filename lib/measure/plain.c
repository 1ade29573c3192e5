/* SPDX-License-Identifier: MIT
 *
 * Matching a line against its pattern, step by step; see measure/pattern.h for what each means.
 *
 *	value  = [sign] blanks digits [point [digits]] | [sign] blanks point digits
 *	sign   = "+" | "-"              may stand apart: indicators right-align the digits
 *
 * A line ends with CR or LF, or with the byte that its pattern names. CR LF is the end of a line
 *and an empty line, which is harmless. So a reading is complete with its first end byte, however
 *the line is cut into chunks, and its time does not depend on that. A line that does not match is
 * refused whole: a bad line never yields a value.
 */
#include "measure/plain.h"

#include "measure/modbus.h"

#include <assert.h>
#include <stdbool.h>
#include <string.h>

/* What is left of the line, and what was learnt from the rest. */
struct span {
	const char *at;
	size_t length;
};

struct match {
	const struct pattern *pattern;
	struct span rest;
	struct span checked; /* what a checksum covers; length 0: up to where it stands */
	struct reading *reading;
};

static void skip(struct span *line, size_t count)
{
	assert(count <= line->length);
	line->at += count;
	line->length -= count;
}

static void skip_blanks(struct span *line)
{
	while (line->length > 0 && line->at[0] == ' ')
		skip(line, 1);
}

/* How many characters belong to a field without a width: up to a blank, or to the character that
 * the pattern wants next. */
static size_t length_of(const struct match *match, const struct pattern_step *step, bool to_blank)
{
	const struct pattern_step *next = step + 1;
	const struct pattern_step *end = match->pattern->steps + match->pattern->step_count;
	while (next < end && (next->kind == PATTERN_CHECKED || next->kind == PATTERN_UNCHECKED))
		next++;
	bool bounded = next < end && next->kind == PATTERN_LITERAL;
	size_t length = 0;
	while (length < match->rest.length &&
		!(bounded && (unsigned char)match->rest.at[length] == next->literal) &&
		!(to_blank && match->rest.at[length] == ' '))
		length++;
	return length;
}

/* Takes a field of a given width off the rest. */
static bool take_columns(struct match *match, size_t width, struct span *field)
{
	if (match->rest.length < width)
		return false;
	*field = (struct span){match->rest.at, width};
	skip(&match->rest, width);
	return true;
}

/* The longest of the step's words that the text begins with. */
static const struct pattern_word *find_word(
	const struct match *match, const struct pattern_step *step, const struct span *text)
{
	const struct pattern_word *best = NULL;
	for (size_t i = 0; i < step->word_count; i++) {
		const struct pattern_word *word = &match->pattern->words[step->word + i];
		if (word->length <= text->length && (!best || word->length > best->length) &&
			memcmp(word->text, text->at, word->length) == 0)
			best = word;
	}
	return best;
}

static bool take_sign(struct span *line)
{
	bool negative = line->length > 0 && line->at[0] == '-';
	if (line->length > 0 && (line->at[0] == '-' || line->at[0] == '+'))
		skip(line, 1);
	skip_blanks(line);
	return negative;
}

/* Digits with one point at most: no exponent, so that "12e" is not half a number. */
static bool take_number(struct span *line, bool comma, struct decimal *value)
{
	char digits[PLAIN_FRAME_MAX] = "";
	size_t length = 0;
	bool point = false;
	for (; length < line->length && length < sizeof digits; length++) {
		char c = line->at[length];
		if (c == (comma ? ',' : '.') && !point)
			point = true;
		else if (c < '0' || c > '9')
			break;
		digits[length] = c == ',' ? '.' : c;
	}
	if (!decimal_parse(digits, length, value))
		return false;
	skip(line, length);
	return true;
}

static enum decoder_error read_load(
	const struct match *match, const struct pattern_step *step, struct span *field)
{
	struct reading *reading = match->reading;
	skip_blanks(field);
	const struct pattern_word *word = find_word(match, step, field);
	if (word) {
		/* There are no digits: never a load of 0. */
		reading->status |= word->status | READING_INVALID;
		skip(field, word->length);
		return DECODER_OK;
	}
	bool negative = take_sign(field);
	if (!take_number(field, step->comma, &reading->value))
		return DECODER_NO_NUMBER;
	if (negative)
		reading->value.mantissa = -reading->value.mantissa;
	return DECODER_OK;
}

static enum decoder_error match_load(struct match *match, const struct pattern_step *step)
{
	struct span field;
	if (step->width == 0)
		return read_load(match, step, &match->rest);
	if (!take_columns(match, step->width, &field))
		return DECODER_OTHER_FORM;
	enum decoder_error error = read_load(match, step, &field);
	skip_blanks(&field);
	return error == DECODER_OK && field.length > 0 ? DECODER_NO_NUMBER : error;
}

static enum decoder_error match_unit(struct match *match, const struct pattern_step *step)
{
	struct span field;
	if (step->width == 0)
		skip_blanks(&match->rest);
	size_t width = step->width ? step->width : length_of(match, step, true);
	if (!take_columns(match, width, &field))
		return DECODER_OTHER_FORM;
	skip_blanks(&field);
	while (field.length > 0 && field.at[field.length - 1] == ' ')
		field.length--;
	if (field.length == 0)
		return step->optional ? DECODER_OK : DECODER_BAD_UNIT;
	bool known = units_parse(field.at, field.length, &match->reading->unit);
	return known ? DECODER_OK : DECODER_BAD_UNIT;
}

static enum decoder_error match_status(struct match *match, const struct pattern_step *step)
{
	const struct pattern_word *word = find_word(match, step, &match->rest);
	if (!word)
		return DECODER_BAD_STATUS;
	match->reading->status |= word->status;
	skip(&match->rest, word->length);
	return DECODER_OK;
}

static enum decoder_error match_skip(struct match *match, const struct pattern_step *step)
{
	struct span field;
	size_t width = step->width ? step->width : length_of(match, step, false);
	return take_columns(match, width, &field) ? DECODER_OK : DECODER_OTHER_FORM;
}

static enum decoder_error match_counter(struct match *match, const struct pattern_step *step)
{
	struct span field, *from = &match->rest;
	struct decimal number;
	bool whole = step->kind == PATTERN_SEQUENCE;
	if (step->width) {
		if (!take_columns(match, step->width, &field))
			return DECODER_OTHER_FORM;
		from = &field;
	}
	skip_blanks(from);
	if (!take_number(from, false, &number) || (whole && number.exponent != 0))
		return DECODER_OTHER_FORM;
	number.exponent += step->exponent;
	return decimal_scaled(number, whole ? 0 : 9, &match->reading->counter) ? DECODER_OK
									       : DECODER_OTHER_FORM;
}

static unsigned checksum_of(enum pattern_checksum kind, const struct span *bytes)
{
	const unsigned char *at = (const unsigned char *)bytes->at;
	unsigned sum = 0;
	if (kind == PATTERN_CRC16)
		return modbus_crc(at, bytes->length);
	for (size_t i = 0; i < bytes->length; i++)
		sum = kind == PATTERN_XOR ? sum ^ at[i] : (sum + at[i]) & 0xff;
	return sum;
}

static int hex_value(char c)
{
	if (c >= '0' && c <= '9')
		return c - '0';
	c = (char)(c | 0x20);
	return c >= 'a' && c <= 'f' ? c - 'a' + 10 : -1;
}

static enum decoder_error match_checksum(struct match *match, const struct pattern_step *step)
{
	struct span field, covered = match->checked;
	if (covered.length == 0)
		covered.length = (size_t)(match->rest.at - covered.at);
	if (!take_columns(match, step->width, &field))
		return DECODER_OTHER_FORM;
	unsigned sent = 0;
	for (size_t i = 0; i < field.length; i++) {
		int value = hex_value(field.at[i]);
		if (value < 0)
			return DECODER_OTHER_FORM;
		sent = sent << 4 | (unsigned)value;
	}
	return sent == checksum_of(step->checksum, &covered) ? DECODER_OK : DECODER_CHECKSUM;
}

static enum decoder_error match_step(struct match *match, const struct pattern_step *step)
{
	switch (step->kind) {
	case PATTERN_LITERAL:
		if (match->rest.length == 0 || (unsigned char)match->rest.at[0] != step->literal)
			return DECODER_OTHER_FORM;
		skip(&match->rest, 1);
		return DECODER_OK;
	case PATTERN_BLANKS:
		skip_blanks(&match->rest);
		return DECODER_OK;
	case PATTERN_LOAD:
		return match_load(match, step);
	case PATTERN_UNIT:
		return match_unit(match, step);
	case PATTERN_STATUS:
		return match_status(match, step);
	case PATTERN_SKIP:
		return match_skip(match, step);
	case PATTERN_SEQUENCE:
	case PATTERN_TIME:
		return match_counter(match, step);
	case PATTERN_CHECKED:
		match->checked = (struct span){match->rest.at, 0};
		return DECODER_OK;
	case PATTERN_UNCHECKED:
		match->checked.length = (size_t)(match->rest.at - match->checked.at);
		return DECODER_OK;
	case PATTERN_CHECKSUM:
		return match_checksum(match, step);
	}
	assert(false);
	return DECODER_OTHER_FORM;
}

static enum decoder_error match_line(
	const struct pattern *pattern, struct span line, struct reading *reading)
{
	struct match match = {pattern, line, {line.at, 0}, reading};
	*reading = (struct reading){.unit = UNIT_NONE};
	for (size_t i = 0; i < pattern->step_count; i++) {
		enum decoder_error error = match_step(&match, &pattern->steps[i]);
		if (error != DECODER_OK)
			return error;
	}
	skip_blanks(&match.rest);
	return match.rest.length == 0 ? DECODER_OK : DECODER_TRAILING;
}

/* Printable, or a byte that the pattern itself wants. */
static bool is_text(const struct pattern *pattern, const unsigned char *bytes, size_t length)
{
	for (size_t i = 0; i < length; i++) {
		bool text = bytes[i] >= 0x20 && bytes[i] <= 0x7e;
		for (size_t k = 0; !text && k < pattern->step_count; k++)
			text = pattern->steps[k].kind == PATTERN_LITERAL &&
			       pattern->steps[k].literal == bytes[i];
		if (!text)
			return false;
	}
	return true;
}

static bool is_line_end(unsigned char byte)
{
	return byte == '\n' || byte == '\r';
}

static bool is_end(const struct pattern *pattern, unsigned char byte)
{
	return pattern->end ? byte == pattern->end : is_line_end(byte);
}

int plain_decode(const struct decoder_setup *setup, const unsigned char *bytes, size_t length,
	struct reading *reading, enum decoder_error *error)
{
	const struct pattern *pattern =
		setup->pattern.step_count > 0 ? &setup->pattern : &pattern_standard;
	size_t limit = length < PLAIN_FRAME_MAX ? length : PLAIN_FRAME_MAX;
	size_t line = 0;
	/* CR and LF behind another end are as harmless as the LF of a CR LF. */
	if (length > 0 && is_line_end(bytes[0])) {
		*error = DECODER_EMPTY;
		return -1;
	}
	while (line < limit && !is_end(pattern, bytes[line]))
		line++;
	if (line == PLAIN_FRAME_MAX) {
		*error = DECODER_TOO_LONG;
		return -PLAIN_FRAME_MAX;
	}
	if (line == limit)
		return 0;

	if (line == 0)
		*error = DECODER_EMPTY;
	else if (!is_text(pattern, bytes, line))
		*error = DECODER_NOT_TEXT;
	else
		*error = match_line(pattern, (struct span){(const char *)bytes, line}, reading);
	int frame = (int)line + 1;
	return *error == DECODER_OK ? frame : -frame;
}
