/* SPDX-License-Identifier: MIT
 *
 * A cell protocol to copy from, for an instrument that does not exist. State here what a frame is:
 *
 *	STX  status  count count count  check
 *
 * six bytes; count is 24 bits, two's complement, most significant byte first; status bit 0 is "over
 * range"; check makes the sum of all six bytes 0 modulo 256. The start is marked, so a stream is in
 * step from the first frame on.
 *
 * The three answers of a decoder: a frame of n bytes; 0, more bytes are needed; -n, drop n bytes.
 * It has no memory between calls, reads no clock and never looks beyond length.
 */
#include "skeleton_decoder.h"

enum { STX = 0x02, STATUS_OVER = 0x01 };

/* How many bytes there are before the next possible start of a frame. */
static int bytes_to_next_start(const unsigned char *bytes, size_t length)
{
	size_t at = 1;
	while (at < length && at < SKELETON_FRAME_SIZE && bytes[at] != STX)
		at++;
	return (int)at;
}

int skeleton_decode(const struct decoder_setup *setup, const unsigned char *bytes, size_t length,
	struct reading *reading, enum decoder_error *error)
{
	(void)setup; /* this protocol has nothing to set up */
	if (length == 0)
		return 0;
	if (bytes[0] != STX) {
		*error = DECODER_NO_FRAME;
		return -bytes_to_next_start(bytes, length);
	}
	if (length < SKELETON_FRAME_SIZE)
		return 0;

	unsigned sum = 0;
	for (size_t i = 0; i < SKELETON_FRAME_SIZE; i++)
		sum += bytes[i];
	if (sum % 256 != 0) {
		/* Not the whole frame: its first byte may have been a false start. */
		*error = DECODER_CHECKSUM;
		return -bytes_to_next_start(bytes, length);
	}

	int32_t count = (int32_t)bytes[2] << 16 | (int32_t)bytes[3] << 8 | (int32_t)bytes[4];
	if (count >= 1 << 23)
		count -= 1 << 24;
	*reading = (struct reading){
		.value = {count, 0},
		.unit = UNIT_NONE,
		.status = bytes[1] & STATUS_OVER ? READING_OVER : 0,
	};
	return SKELETON_FRAME_SIZE;
}
