/* SPDX-License-Identifier: MIT
 *
 * Clock and median.
 */
#include "stopwatch.h"

#include <stdlib.h>
#include <time.h>

double stopwatch_ns(void)
{
	struct timespec now;
	clock_gettime(CLOCK_MONOTONIC, &now);
	return (double)now.tv_sec * 1e9 + (double)now.tv_nsec;
}

static int compare(const void *a, const void *b)
{
	double x = *(const double *)a, y = *(const double *)b;
	return (x > y) - (x < y);
}

double stopwatch_median(double *values, size_t count)
{
	qsort(values, count, sizeof *values, compare);
	return count % 2 == 1 ? values[count / 2] : (values[count / 2 - 1] + values[count / 2]) / 2;
}
