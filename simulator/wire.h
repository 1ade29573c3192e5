/* SPDX-License-Identifier: MIT
 *
 * From a cell's load to the bytes on its wire, as its instrument and the faults in force make them.
 * Pure: the bytes are handed to the caller, who has the port.
 */
#ifndef SIMULATOR_WIRE_H
#define SIMULATOR_WIRE_H

#include "dialect.h"
#include "faults.h"

/* More than the kernel takes at once from a line that nobody reads. */
enum { WIRE_OUT_MAX = 32 * 1024, WIRE_HELD_MAX = 16 * 1024 };

struct wire {
	const struct dialect *dialect;
	const struct dialect_setup *setup; /* both outlive it */
	double line_hz;
	struct faults faults;
	bool stuck, rebooting;
	double stuck_newton; /* the value that stands still */
	double tare_newton;  /* what the instrument takes for zero */
	size_t held_length;  /* of lines that wait to be sent together */
	unsigned held_count;
	char held[WIRE_HELD_MAX];
	size_t line_length; /* of the latest line; 0 where a fault spoilt it or none was written */
	char line[DIALECT_LINE_MAX];
};

void wire_init(struct wire *wire, const struct dialect *dialect, const struct dialect_setup *setup,
	double line_hz, const struct faults_plan *plan);
/* The bytes for one line, at most WIRE_OUT_MAX; returns their number. Call faults_step before it.
 */
size_t wire_write(struct wire *wire, struct random *random, double load_newton, char *out);
/* What a receiver at ratio times the sender's speed makes of bytes sent 8N1; out holds at least
 * 4 * length + 4 for the largest ratio. Returns their number. */
size_t wire_resample(const char *bytes, size_t length, double ratio, char *out);

#endif
