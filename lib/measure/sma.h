/* SPDX-License-Identifier: MIT
 *
 * The SMA scale serial communication protocol (SCP-0499) of the Scale Manufacturers Association, as
 * far as a load needs it: the standard reply of 20 bytes,
 *
 *	LF status range n motion reserved  weight (10, right-aligned)  unit (3, left-aligned)  CR
 *
 * asked for with LF W CR, or without end with LF R CR. The other letters of the protocol (zero,
 * tare, units) act on the instrument: they are not spoken here.
 *
 * Written from memory and from restatements of the standard that agree; its text was not at hand.
 */
#ifndef MEASURE_SMA_H
#define MEASURE_SMA_H

#include "measure/decoder.h"

enum { SMA_FRAME_SIZE = 20, SMA_REQUEST_SIZE = 3 };

size_t sma_ask(const struct decoder_setup *setup, unsigned char *bytes);
size_t sma_ask_repeated(const struct decoder_setup *setup, unsigned char *bytes);
size_t sma_reply_size(const struct decoder_setup *setup);
int sma_decode(const struct decoder_setup *setup, const unsigned char *bytes, size_t length,
	struct reading *reading, enum decoder_error *error);

#endif
