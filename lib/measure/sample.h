/* SPDX-License-Identifier: MIT
 *
 * A sample: the press's load at one time, in micronewtons, after scaling and summing.
 */
#ifndef MEASURE_SAMPLE_H
#define MEASURE_SAMPLE_H

#include "base/clocks.h"

#include <stdint.h>

enum sample_flag {
	SAMPLE_OVER_RANGE = 1 << 0, /* a cell reported over, or the load is above the capacity */
	SAMPLE_LATE = 1 << 1,       /* its load is right, its time is not: no rate comes from it */
	SAMPLE_LOST = 1 << 2,       /* a cell counts readings before it that never came */
	SAMPLE_REPEATED = 1 << 3,   /* a cell sent a reading before it twice */
};

struct sample {
	struct mono_time time;
	int64_t load_un; /* |load_un| <= UNITS_LOAD_UN_MAX */
	unsigned flags;  /* enum sample_flag, or-ed */
};

#endif
