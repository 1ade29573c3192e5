/* SPDX-License-Identifier: MIT
 *
 * Mean and standard deviation of a set of strengths. The deviation is that of a sample (divided by
 * n - 1), as ASTM C670 and every acceptance rule for concrete use it. Two passes, the second
 * corrected for what rounding left in the mean (Chan, Golub and LeVeque, The American Statistician
 * 37, 1983, formula 1.7), so that values which agree in most of their digits lose none. Feed
 * unrounded values; rounding is the report's.
 */
#ifndef RESULT_STATISTICS_H
#define RESULT_STATISTICS_H

#include <stddef.h>

struct statistics {
	size_t count;
	double mean;      /* 0 without values */
	double deviation; /* 0 with fewer than two values: there is none */
};

struct statistics statistics_of(const double *values, size_t count);

#endif
