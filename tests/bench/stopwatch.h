/* SPDX-License-Identifier: MIT
 *
 * Times of repeated work: paired repetitions, medians. Only ratios within one run of a benchmark
 * carry over to another machine.
 */
#ifndef TESTS_BENCH_STOPWATCH_H
#define TESTS_BENCH_STOPWATCH_H

#include <stddef.h>

enum { STOPWATCH_REPETITIONS = 9 };

/* Monotonic, in nanoseconds. */
double stopwatch_ns(void);
/* The same of this process's time on a processor alone: for work that waits for nothing, on a
 * machine that has other work too. */
double stopwatch_cpu_ns(void);
/* Sorts the values. */
double stopwatch_median(double *values, size_t count);

#endif
