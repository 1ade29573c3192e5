/* SPDX-License-Identifier: MIT
 *
 * A load curve as a text file: UTF-8 CSV whose header names the columns. Read by `ramplog assess`
 * and by the simulator. Pure: the caller reads the file.
 *
 * Header: `time_s` and exactly one of `load_n`, `load_kn`, `load_lbf`; further columns are ignored;
 * lines that start with # and empty lines are comments; a byte-order mark and CR LF are accepted.
 * Times are in seconds, zero or more, strictly increasing. Numbers are decimal (see
 * base/decimal.h).
 */
#ifndef MEASURE_CURVE_H
#define MEASURE_CURVE_H

#include "base/message.h"
#include "measure/sample.h"

#include <stdbool.h>
#include <stddef.h>

struct curve {
	struct sample *samples; /* owned; time.ns = time_s x 1e9 */
	size_t count;
	int64_t step_un; /* finest step that the digits of the file can show, in micronewtons */
};

/* False: *why names the file (name is only used for that), the line and the reason; nothing to
 * free. A file without a single sample is refused too. */
bool curve_parse(const char *name, const char *text, size_t length, struct curve *curve,
	struct message *why);
void curve_finish(struct curve *curve);

#endif
