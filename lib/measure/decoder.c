/* SPDX-License-Identifier: MIT
 *
 * The table of cell protocols, and the words for what can be wrong with a frame.
 */
#include "measure/decoder.h"

#include "measure/plain.h"

#include <assert.h>
#include <string.h>

static const struct decoder table[] = {
	{
		.name = "plain",
		.summary = "one ASCII line a reading: value and unit, ended by CR, LF or both",
		.frame_max = PLAIN_FRAME_MAX,
		.decode = plain_decode,
	},
	{.name = NULL},
};

const struct decoder *decoder_table(void)
{
	return table;
}

const struct decoder *decoder_find(const char *name)
{
	for (const struct decoder *decoder = table; decoder->name; decoder++) {
		if (strcmp(decoder->name, name) == 0)
			return decoder;
	}
	return NULL;
}

const char *decoder_error_text(enum decoder_error error)
{
	switch (error) {
	case DECODER_OK:
		return "no error";
	case DECODER_EMPTY:
		return "an empty line";
	case DECODER_NO_NUMBER:
		return "a line without a number";
	case DECODER_BAD_UNIT:
		return "a number followed by something that is no unit";
	case DECODER_TRAILING:
		return "a line that goes on after number and unit";
	case DECODER_TOO_LONG:
		return "no end of line within the longest line allowed (wrong protocol or baud "
		       "rate?)";
	case DECODER_NOT_TEXT:
		return "bytes that are no text (wrong baud rate, or noise on the line?)";
	}
	assert(false);
	return "";
}
