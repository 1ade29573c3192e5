/* SPDX-License-Identifier: MIT
 *
 * The curve of a stored run, exact to the micronewton and the nanosecond, with what is on record of
 * the run at its head: its outcome, and every correction beside it.
 */
#ifndef TOOLS_EXPORT_CURVE_H
#define TOOLS_EXPORT_CURVE_H

#include "store/replay.h"

#include <stdio.h>

/* "csv" and "json". */
bool export_curve_knows(const char *format);
/* STORE_OK also where out could not take all: that is the caller's to find. */
enum store_status export_curve_put(const char *format, struct store *store,
	const struct run_record *record, const struct replay *replay, FILE *out);
/* Without the zeros at the end: the digits then show how fine the cell's readings were. */
void export_decimal(int64_t scaled, int places, char text[24]);

#endif
