/* SPDX-License-Identifier: MIT
 *
 * The decode function of a new cell protocol: this file's counterpart lies in lib/measure/.
 */
#ifndef TESTS_UNIT_MEASURE_SKELETON_DECODER_H
#define TESTS_UNIT_MEASURE_SKELETON_DECODER_H

#include "measure/decoder.h"

enum { SKELETON_FRAME_SIZE = 6 };

int skeleton_decode(const struct decoder_setup *setup, const unsigned char *bytes, size_t length,
	struct reading *reading, enum decoder_error *error);

#endif
