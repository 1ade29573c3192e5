/* SPDX-License-Identifier: MIT
 *
 * How an instrument writes a load on the wire: one row of a table per protocol. The counterpart of
 * the decoders of lib/measure, and written apart from them, so that each checks the other.
 */
#ifndef SIMULATOR_DIALECT_H
#define SIMULATOR_DIALECT_H

#include "base/units.h"

#include <stddef.h>

enum { DIALECT_LINE_MAX = 64, DIALECT_DECIMALS_MAX = 9, DIALECT_ADDRESSES_MAX = 8 };

/* How the instrument is set up. */
struct dialect_setup {
	enum unit unit;
	int decimals;             /* 0 .. DIALECT_DECIMALS_MAX */
	double resolution_newton; /* loads are multiples of it; 0: the last decimal */
	int address;              /* of the instrument on its line, from 1 on */
};

enum dialect_asked {
	DIALECT_NOTHING,  /* bytes that ask for nothing */
	DIALECT_ONE,      /* one reading */
	DIALECT_REPEATED, /* readings without end */
	DIALECT_OTHER,    /* something else, answered by the reply */
};

struct dialect_request {
	enum dialect_asked asked;
	int address; /* whose */
	size_t used; /* bytes; 0: more are needed */
	size_t reply_length;
	char reply[8];
};

struct dialect {
	const char *name;
	const char *summary;
	/* Writes the bytes for one load, at most DIALECT_LINE_MAX; returns their number. */
	size_t (*write)(const struct dialect_setup *setup, double load_newton, char *bytes);
	/* Reads the first of the bytes that came from the computer. NULL: the instrument sends by
	 * itself and cannot be asked. */
	void (*read)(const unsigned char *bytes, size_t length, struct dialect_request *request);
};

/* NULL if there is none of that name. Static. */
const struct dialect *dialect_find(const char *name);
/* The table, ended by an entry with a NULL name. */
const struct dialect *dialect_table(void);

#endif
