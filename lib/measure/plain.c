/* SPDX-License-Identifier: MIT
 *
 * The `plain` cell protocol:
 *
 *	line   = spaces [sign] spaces number spaces [unit] spaces end
 *	       | spaces "OL" spaces end                            over range, no digits
 *	sign   = "+" | "-"                       may stand apart: indicators right-align the digits
 *	number = digits ["." [digits]] | "." digits
 *	unit   = as units_parse() reads it
 *	end    = LF | CR
 *
 * CR LF is the end of a line and an empty line, which is harmless. So a reading is complete with
 * its first end byte, however the line is cut into chunks, and its time does not depend on that.
 * Anything else is refused as a whole line: a bad line never yields a value.
 */
#include "measure/plain.h"

#include <stdbool.h>
#include <string.h>

/* What is left of the line. */
struct span {
	const char *at;
	size_t length;
};

static void skip(struct span *line, size_t count)
{
	line->at += count;
	line->length -= count;
}

static void skip_spaces(struct span *line)
{
	while (line->length > 0 && line->at[0] == ' ')
		skip(line, 1);
}

static bool is_text(const unsigned char *bytes, size_t length)
{
	for (size_t i = 0; i < length; i++) {
		if (bytes[i] < 0x20 || bytes[i] > 0x7e)
			return false;
	}
	return true;
}

static bool take_sign(struct span *line)
{
	bool negative = line->length > 0 && line->at[0] == '-';
	if (line->length > 0 && (line->at[0] == '-' || line->at[0] == '+'))
		skip(line, 1);
	skip_spaces(line);
	return negative;
}

/* Digits with one point at most: no exponent, so that "12e" is not half a number. */
static bool take_number(struct span *line, struct decimal *value)
{
	size_t length = 0;
	bool point = false;
	for (; length < line->length; length++) {
		char c = line->at[length];
		if (c == '.' && !point)
			point = true;
		else if (c < '0' || c > '9')
			break;
	}
	if (!decimal_parse(line->at, length, value))
		return false;
	skip(line, length);
	return true;
}

static enum decoder_error take_unit(struct span *line, enum unit *unit)
{
	size_t length = 0;
	while (length < line->length && line->at[length] != ' ')
		length++;
	if (length > 0 && !units_parse(line->at, length, unit))
		return DECODER_BAD_UNIT;
	skip(line, length);
	return DECODER_OK;
}

static bool is_over_range(struct span line)
{
	if (line.length < 2 || memcmp(line.at, "OL", 2) != 0)
		return false;
	skip(&line, 2);
	skip_spaces(&line);
	return line.length == 0;
}

static enum decoder_error read_line(struct span line, struct reading *reading)
{
	*reading = (struct reading){.unit = UNIT_NONE};
	skip_spaces(&line);
	if (is_over_range(line)) {
		reading->status = READING_OVER | READING_INVALID;
		return DECODER_OK;
	}
	bool negative = take_sign(&line);
	if (!take_number(&line, &reading->value))
		return DECODER_NO_NUMBER;
	if (negative)
		reading->value.mantissa = -reading->value.mantissa;
	skip_spaces(&line);
	enum decoder_error error = take_unit(&line, &reading->unit);
	if (error != DECODER_OK)
		return error;
	skip_spaces(&line);
	return line.length == 0 ? DECODER_OK : DECODER_TRAILING;
}

int plain_decode(const unsigned char *bytes, size_t length, struct reading *reading,
	enum decoder_error *error)
{
	size_t limit = length < PLAIN_FRAME_MAX ? length : PLAIN_FRAME_MAX;
	size_t line = 0;
	while (line < limit && bytes[line] != '\n' && bytes[line] != '\r')
		line++;
	if (line == PLAIN_FRAME_MAX) {
		*error = DECODER_TOO_LONG;
		return -PLAIN_FRAME_MAX;
	}
	if (line == limit)
		return 0;

	if (line == 0)
		*error = DECODER_EMPTY;
	else if (!is_text(bytes, line))
		*error = DECODER_NOT_TEXT;
	else
		*error = read_line((struct span){(const char *)bytes, line}, reading);
	int frame = (int)line + 1;
	return *error == DECODER_OK ? frame : -frame;
}
