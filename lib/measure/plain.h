/* SPDX-License-Identifier: MIT
 *
 * The `plain` cell protocol: one ASCII line a reading, e.g. "  12.50 kN" CR LF.
 */
#ifndef MEASURE_PLAIN_H
#define MEASURE_PLAIN_H

#include "measure/decoder.h"

enum { PLAIN_FRAME_MAX = 64 };

int plain_decode(const unsigned char *bytes, size_t length, struct reading *reading,
	enum decoder_error *error);

#endif
