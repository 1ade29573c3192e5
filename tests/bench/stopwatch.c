/* SPDX-License-Identifier: MIT
 *
 * Clock and median.
 */
#include "stopwatch.h"

#include <stdlib.h>
#include <time.h>

static double read_clock(clockid_t clock)
{
	struct timespec now;
	clock_gettime(clock, &now);
	return (double)now.tv_sec * 1e9 + (double)now.tv_nsec;
}

double stopwatch_ns(void)
{
	return read_clock(CLOCK_MONOTONIC);
}

double stopwatch_cpu_ns(void)
{
	return read_clock(CLOCK_PROCESS_CPUTIME_ID);
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
