/* SPDX-License-Identifier: MIT
 *
 * The `plain` cell protocol: one text line a reading, e.g. "  12.50 kN" CR LF, in the form that a
 * pattern describes (measure/pattern.h).
 */
#ifndef MEASURE_PLAIN_H
#define MEASURE_PLAIN_H

#include "measure/decoder.h"

enum { PLAIN_FRAME_MAX = 128 };

int plain_decode(const struct decoder_setup *setup, const unsigned char *bytes, size_t length,
	struct reading *reading, enum decoder_error *error);

#endif
