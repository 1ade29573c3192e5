/* SPDX-License-Identifier: MIT
 *
 * A load curve as a drawing: pieces of parabola with no noise in them, so that the truth about a
 * run (its maximum, its rate in any window) is known from the construction and never from the
 * judge. Loads in N, times in s.
 */
#ifndef TESTS_CORPUS_DRAWING_H
#define TESTS_CORPUS_DRAWING_H

#include <stdbool.h>
#include <stddef.h>

enum { DRAWING_PIECES_MAX = 64 };

struct piece {
	double start_s, seconds;
	double load_n, rate_n_s, bend_n_s2; /* load + rate t + bend t^2 */
};

struct drawing {
	size_t count;
	struct piece pieces[DRAWING_PIECES_MAX];
	double end_s, load_n; /* where the pen is */
};

void drawing_init(struct drawing *drawing);
/* For some seconds at a rate. */
void drawing_run(struct drawing *drawing, double seconds, double rate_n_s);
/* For some seconds, the rate changing evenly from one value to another. */
void drawing_bend(struct drawing *drawing, double seconds, double rate_n_s, double rate_end_n_s);
/* To a load at a rate (positive; the direction follows). */
void drawing_to(struct drawing *drawing, double load_n, double rate_n_s);
/* From the present rate to a rounded top at load_n. */
void drawing_round(struct drawing *drawing, double load_n, double rate_n_s);
/* At once to a load. */
void drawing_jump(struct drawing *drawing, double load_n);

double drawing_load(const struct drawing *drawing, double time_s);
/* Largest load, and the first time at which it is reached, up to until_s. */
double drawing_maximum(const struct drawing *drawing, double until_s, double *time_s);
/* First time at which the load is reached; negative if it never is. */
double drawing_reach(const struct drawing *drawing, double load_n);
/* Least and largest rate between two times; false where the load jumps between them. */
bool drawing_rates(
	const struct drawing *drawing, double from_s, double to_s, double *least, double *largest);
/* Least-squares slope over [start, start + length], of the curve itself and not of points on it. */
double drawing_slope(const struct drawing *drawing, double start_s, double length_s);

#endif
