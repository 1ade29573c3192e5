/* SPDX-License-Identifier: MIT
 *
 * How an instrument writes a load on the wire: one row of a table per protocol. The counterpart of
 * the decoders of lib/measure, and written apart from them, so that each checks the other.
 */
#ifndef SIMULATOR_DIALECT_H
#define SIMULATOR_DIALECT_H

#include "base/units.h"

#include <stddef.h>

enum { DIALECT_LINE_MAX = 64, DIALECT_DECIMALS_MAX = 9 };

/* How the instrument is set up. */
struct dialect_setup {
	enum unit unit;
	int decimals;             /* 0 .. DIALECT_DECIMALS_MAX */
	double resolution_newton; /* loads are multiples of it; 0: the last decimal */
};

struct dialect {
	const char *name;
	const char *summary;
	/* Writes the bytes for one load, at most DIALECT_LINE_MAX; returns their number. */
	size_t (*write)(const struct dialect_setup *setup, double load_newton, char *bytes);
};

/* NULL if there is none of that name. Static. */
const struct dialect *dialect_find(const char *name);
/* The table, ended by an entry with a NULL name. */
const struct dialect *dialect_table(void);

#endif
