/* SPDX-License-Identifier: MIT
 *
 * A cell protocol is one decoder: bytes in, readings or a named error out. No descriptor, no clock,
 * no allocation, no memory between calls. One file and one row in the table of decoder.c each;
 * docs/adding-a-cell.md walks through it.
 */
#ifndef MEASURE_DECODER_H
#define MEASURE_DECODER_H

#include "measure/reading.h"

#include <stdbool.h>
#include <stddef.h>

/* Why bytes were thrown away. */
enum decoder_error {
	DECODER_OK,
	DECODER_EMPTY,     /* a terminator with nothing before it: harmless, not counted */
	DECODER_NO_NUMBER, /* a whole line without a number in it */
	DECODER_BAD_UNIT,  /* a number, then something that is no unit */
	DECODER_TRAILING,  /* a number and a unit, then more */
	DECODER_TOO_LONG,  /* no terminator within the longest line allowed; what follows up to the
			    * next terminator is thrown away too */
	DECODER_NOT_TEXT,  /* bytes that no text line contains: garbage, or a wrong baud rate */
};

struct decoder {
	const char *name;    /* as written in the config */
	const char *summary; /* one line for `ramplogd --keys` and the manual */
	size_t frame_max;    /* longest frame in bytes, terminator included; at most 256 */
	/* A frame's first byte is marked as such. Where it is not (lines of text), the first frame
	 * after opening may be the tail of one ("25.2" of "125.2") and is thrown away. */
	bool start_marked;
	/* Looks at the first bytes of the buffer. Returns n > 0: a frame of n bytes, reading filled
	 * in but for its time; 0: more bytes are needed; n < 0: drop -n bytes, *error says why.
	 * Never returns 0 once length >= frame_max. */
	int (*decode)(const unsigned char *bytes, size_t length, struct reading *reading,
		enum decoder_error *error);
};

/* NULL if there is none of that name. Static. */
const struct decoder *decoder_find(const char *name);
/* The table, ended by an entry with a NULL name. */
const struct decoder *decoder_table(void);
/* "a line without a number" and so on. Static text. */
const char *decoder_error_text(enum decoder_error error);

#endif
