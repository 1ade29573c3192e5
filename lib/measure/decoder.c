/* SPDX-License-Identifier: MIT
 *
 * The table of cell protocols, and the words for what can be wrong with a frame.
 */
#include "measure/decoder.h"

#include "measure/modbus.h"
#include "measure/plain.h"
#include "measure/sma.h"

#include <assert.h>
#include <string.h>

static const struct decoder table[] = {
	{
		.name = "plain",
		.summary = "one text line a reading, as `pattern` describes it: value and unit, "
			   "ended by CR, LF or both",
		.frame_max = PLAIN_FRAME_MAX,
		.decode = plain_decode,
	},
	{
		.name = "sma",
		.summary = "SMA SCP-0499, the serial protocol of the Scale Manufacturers "
			   "Association: gross weight, asked for or repeated",
		.frame_max = SMA_FRAME_SIZE,
		.start_marked = true,
		.decode = sma_decode,
		.ask = sma_ask,
		.ask_repeated = sma_ask_repeated,
		.reply_size = sma_reply_size,
	},
	{
		.name = "modbus-rtu",
		.summary = "Modbus RTU: one value in holding or input registers; several "
			   "instruments may share a line",
		.frame_max = MODBUS_REPLY_MAX,
		.start_marked = true,
		.decode = modbus_decode,
		.ask = modbus_ask,
		.reply_size = modbus_reply_size,
		.addressed = true,
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
	static const char *const TEXTS[DECODER_ERROR_COUNT] = {
		[DECODER_OK] = "no error",
		[DECODER_EMPTY] = "an empty line",
		[DECODER_NO_NUMBER] = "a line without a number",
		[DECODER_BAD_UNIT] = "a number followed by something that is no unit",
		[DECODER_TRAILING] = "a line that goes on after what is expected",
		[DECODER_TOO_LONG] = "no end of line within the longest line allowed (wrong "
				     "protocol or baud rate?)",
		[DECODER_NOT_TEXT] =
			"bytes that are no text (wrong baud rate, or noise on the line?)",
		[DECODER_OTHER_FORM] = "a line of another form than the protocol or the pattern "
				       "has it",
		[DECODER_BAD_STATUS] = "a status that the protocol or the pattern does not list",
		[DECODER_CHECKSUM] = "bytes that do not give their checksum (noise on the line?)",
		[DECODER_NOT_GROSS] = "a net or tare weight: set the indicator to gross",
		[DECODER_NOT_KNOWN] = "the answer that it does not know what it was asked",
		[DECODER_NOT_HEARD] = "the answer that it received something damaged",
		[DECODER_NO_FRAME] = "bytes that begin no frame of the protocol (wrong baud rate, "
				     "format or address?)",
		[DECODER_NO_FUNCTION] = "Modbus exception 01, illegal function: try the other "
					"kind of registers",
		[DECODER_NO_REGISTER] = "Modbus exception 02, illegal data address: correct "
					"`register`; it counts from 0",
		[DECODER_NO_VALUE] = "Modbus exception 03, illegal data value: correct `type`",
		[DECODER_FAILURE] = "Modbus exception 04, server device failure",
		[DECODER_ACKNOWLEDGED] = "Modbus exception 05, acknowledge: it needs more time",
		[DECODER_BUSY] = "Modbus exception 06, server device busy",
		[DECODER_MEMORY] = "Modbus exception 08, memory parity error",
		[DECODER_NO_PATH] = "Modbus exception 0A, gateway path unavailable",
		[DECODER_NO_TARGET] = "Modbus exception 0B, gateway target device failed to "
				      "respond",
		[DECODER_EXCEPTION] = "a Modbus exception that the standard does not name",
	};
	assert((int)error >= 0 && error < DECODER_ERROR_COUNT);
	return TEXTS[error];
}

bool decoder_error_is_refusal(enum decoder_error error)
{
	return error == DECODER_NOT_KNOWN || error == DECODER_NOT_HEARD ||
	       (error >= DECODER_NO_FUNCTION && error < DECODER_ERROR_COUNT);
}
