/* SPDX-License-Identifier: MIT
 *
 * A cell protocol is one decoder: bytes in, readings or a named error out. No descriptor, no clock,
 * no allocation, no memory between calls. One file and one row in the table of decoder.c each;
 * docs/adding-a-cell.md walks through it.
 */
#ifndef MEASURE_DECODER_H
#define MEASURE_DECODER_H

#include "measure/modbus_map.h"
#include "measure/pattern.h"
#include "measure/reading.h"

#include <stdbool.h>
#include <stddef.h>

/* Why bytes were thrown away. */
enum decoder_error {
	DECODER_OK,
	DECODER_EMPTY,        /* a terminator with nothing before it: harmless, not counted */
	DECODER_NO_NUMBER,    /* a whole line without a number where it is expected */
	DECODER_BAD_UNIT,     /* something that is no unit where one is expected */
	DECODER_TRAILING,     /* all that is expected, then more */
	DECODER_TOO_LONG,     /* no terminator within the longest line allowed; what follows up to
			       * the next terminator is thrown away too */
	DECODER_NOT_TEXT,     /* bytes that no text line contains: garbage, or a wrong baud rate */
	DECODER_OTHER_FORM,   /* a line that is not of the form that the pattern describes */
	DECODER_BAD_STATUS,   /* a status that is not listed */
	DECODER_CHECKSUM,     /* the bytes do not give the checksum sent with them */
	DECODER_NOT_GROSS,    /* a net or a tare weight: only a gross one is a load */
	DECODER_NOT_KNOWN,    /* the instrument does not know what it was asked */
	DECODER_NOT_HEARD,    /* the instrument received what it was asked damaged */
	DECODER_NO_FRAME,     /* bytes that begin no frame of the protocol */
	DECODER_NO_FUNCTION,  /* Modbus exception 01 */
	DECODER_NO_REGISTER,  /* 02 */
	DECODER_NO_VALUE,     /* 03 */
	DECODER_FAILURE,      /* 04 */
	DECODER_ACKNOWLEDGED, /* 05 */
	DECODER_BUSY,         /* 06 */
	DECODER_MEMORY,       /* 08 */
	DECODER_NO_PATH,      /* 0A */
	DECODER_NO_TARGET,    /* 0B */
	DECODER_EXCEPTION,    /* any other Modbus exception */
	DECODER_ERROR_COUNT,
};

/* How one cell's protocol is set up; only the part of its decoder counts. All zero is a plain line
 * in its standard form. */
struct decoder_setup {
	struct pattern pattern;
	struct modbus_map modbus;
};

enum { DECODER_FRAME_MAX = 256, DECODER_REQUEST_MAX = 16 };

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
	int (*decode)(const struct decoder_setup *setup, const unsigned char *bytes, size_t length,
		struct reading *reading, enum decoder_error *error);
	/* Writes what asks for one reading, at most DECODER_REQUEST_MAX bytes; returns their
	 * number. NULL: the instrument cannot be asked, it sends by itself. */
	size_t (*ask)(const struct decoder_setup *setup, unsigned char *bytes);
	/* The same for readings without end, at the instrument's own pace; NULL: it cannot. */
	size_t (*ask_repeated)(const struct decoder_setup *setup, unsigned char *bytes);
	/* Of a whole reply to ask(); 0 where it cannot be asked. */
	size_t (*reply_size)(const struct decoder_setup *setup);
	/* Several instruments on one line have an address each, and replies tell whose they are. */
	bool addressed;
};

/* NULL if there is none of that name. Static. */
const struct decoder *decoder_find(const char *name);
/* The table, ended by an entry with a NULL name. */
const struct decoder *decoder_table(void);
/* "a line without a number" and so on. Static text. */
const char *decoder_error_text(enum decoder_error error);
/* The instrument has answered, and says no. */
bool decoder_error_is_refusal(enum decoder_error error);

#endif
