/* SPDX-License-Identifier: MIT
 *
 * Frames of SMA SCP-0499; see sma.h. Bytes outside frames are passed over; a new LF within a frame
 * begins a new one, since the CR may have been lost.
 *
 *	status   blank none, Z centre of zero, O over capacity, U under capacity,
 *	         E zero error, I initial-zero error, T tare error (the weight is dashes)
 *	n        G or g gross, N or n net, T tare; the small letters: high resolution
 *	motion   M moving, else a blank
 *	answers  LF ? CR: not known;  LF ! CR: received damaged
 *
 * There is no checksum and no counter: a digit that was damaged cannot be told.
 */
#include "measure/sma.h"

#include <stdbool.h>
#include <string.h>

enum {
	START = '\n',
	END = '\r',
	AT_STATUS = 1,
	AT_KIND = 3,
	AT_MOTION = 4,
	AT_WEIGHT = 6,
	WEIGHT_SIZE = 10,
	AT_UNIT = 16,
	UNIT_SIZE = 3,
	ANSWER_SIZE = 3,
};

static size_t write_command(char letter, unsigned char *bytes)
{
	bytes[0] = START;
	bytes[1] = (unsigned char)letter;
	bytes[2] = END;
	return SMA_REQUEST_SIZE;
}

size_t sma_ask(const struct decoder_setup *setup, unsigned char *bytes)
{
	(void)setup;
	return write_command('W', bytes);
}

size_t sma_ask_repeated(const struct decoder_setup *setup, unsigned char *bytes)
{
	(void)setup;
	return write_command('R', bytes);
}

size_t sma_reply_size(const struct decoder_setup *setup)
{
	(void)setup;
	return SMA_FRAME_SIZE;
}

/* Without the blanks around it, for which some instruments send underscores. */
static size_t trim(const char **text, size_t length)
{
	while (length > 0 && (**text == ' ' || **text == '_')) {
		(*text)++;
		length--;
	}
	while (length > 0 && ((*text)[length - 1] == ' ' || (*text)[length - 1] == '_'))
		length--;
	return length;
}

static bool read_status(const unsigned char *frame, unsigned *status)
{
	static const struct {
		char letter;
		unsigned status;
	} LETTERS[] = {
		{' ', 0},
		{'_', 0},
		{'Z', READING_ZERO},
		{'O', READING_OVER},
		{'U', READING_UNDER},
		{'E', READING_ZERO_ERROR | READING_INVALID},
		{'I', READING_ZERO_ERROR | READING_INVALID},
		{'T', READING_INVALID},
	};
	size_t i = 0, count = sizeof LETTERS / sizeof *LETTERS;
	while (i < count && LETTERS[i].letter != (char)frame[AT_STATUS])
		i++;
	if (i == count)
		return false;
	*status = LETTERS[i].status | (frame[AT_MOTION] == 'M' ? READING_MOTION : 0);
	return true;
}

/* The weight, with its sign anywhere before the digits. Dashes stand for no weight. */
static bool read_weight(const unsigned char *frame, struct reading *reading)
{
	char digits[WEIGHT_SIZE];
	const char *text = (const char *)frame + AT_WEIGHT;
	size_t length = trim(&text, WEIGHT_SIZE);
	if (length == WEIGHT_SIZE && memcmp(text, "----------", WEIGHT_SIZE) == 0) {
		reading->status |= READING_INVALID;
		return true;
	}
	bool negative = length > 0 && text[0] == '-';
	if (length > 0 && (text[0] == '-' || text[0] == '+')) {
		text++;
		length = trim(&text, length - 1);
	}
	memcpy(digits, text, length);
	if (memchr(digits, 'e', length) || memchr(digits, 'E', length) || length == 0 ||
		digits[0] == '-' || digits[0] == '+' ||
		!decimal_parse(digits, length, &reading->value))
		return false;
	if (negative)
		reading->value.mantissa = -reading->value.mantissa;
	return true;
}

static bool is_gross(unsigned char kind)
{
	return kind == 'G' || kind == 'g';
}

static enum decoder_error read_frame(const unsigned char *frame, struct reading *reading)
{
	const char *unit = (const char *)frame + AT_UNIT;
	size_t unit_length = trim(&unit, UNIT_SIZE);
	*reading = (struct reading){.unit = UNIT_NONE};
	if (strchr("NnT", frame[AT_KIND]))
		return DECODER_NOT_GROSS;
	if (!is_gross(frame[AT_KIND]))
		return DECODER_OTHER_FORM;
	if (!read_status(frame, &reading->status))
		return DECODER_BAD_STATUS;
	if (!read_weight(frame, reading))
		return DECODER_NO_NUMBER;
	return units_parse(unit, unit_length, &reading->unit) ? DECODER_OK : DECODER_BAD_UNIT;
}

static bool is_text(const unsigned char *bytes, size_t length)
{
	for (size_t i = 0; i < length; i++) {
		if (bytes[i] < 0x20 || bytes[i] > 0x7e)
			return false;
	}
	return true;
}

/* A whole frame of this size, LF and CR included. */
static enum decoder_error read_bytes(
	const unsigned char *frame, size_t size, struct reading *reading)
{
	if (size == ANSWER_SIZE && frame[1] == '?')
		return DECODER_NOT_KNOWN;
	if (size == ANSWER_SIZE && frame[1] == '!')
		return DECODER_NOT_HEARD;
	if (!is_text(frame + 1, size - 2))
		return DECODER_NOT_TEXT;
	if (size != SMA_FRAME_SIZE)
		return DECODER_OTHER_FORM;
	return read_frame(frame, reading);
}

int sma_decode(const struct decoder_setup *setup, const unsigned char *bytes, size_t length,
	struct reading *reading, enum decoder_error *error)
{
	size_t at = 0;
	(void)setup;
	if (length > 0 && bytes[0] == END) {
		*error = DECODER_EMPTY;
		return -1;
	}
	while (at < length && bytes[at] != START && bytes[at] != END)
		at++;
	if (at > 0) {
		*error = DECODER_NO_FRAME;
		return -(int)at;
	}
	for (at = 1; at < length && at < SMA_FRAME_SIZE; at++) {
		if (bytes[at] == START) {
			*error = at == 1 ? DECODER_EMPTY : DECODER_OTHER_FORM;
			return -(int)at;
		}
		if (bytes[at] == END)
			break;
	}
	if (at == SMA_FRAME_SIZE) {
		*error = DECODER_TOO_LONG;
		return -(int)at;
	}
	if (at >= length)
		return 0;
	*error = read_bytes(bytes, at + 1, reading);
	return *error == DECODER_OK ? (int)at + 1 : -(int)(at + 1);
}
