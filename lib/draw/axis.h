/* SPDX-License-Identifier: MIT
 *
 * One axis of a drawing: the range it shows and the ticks on it. Every renderer (text now, paper
 * later) places its marks through the same axis, so that all pictures of a run agree.
 *
 * Ticks are multiples of 1, 2 or 5 times a power of ten and stay integers: a label is written from
 * them in decimal and never from a binary fraction.
 */
#ifndef DRAW_AXIS_H
#define DRAW_AXIS_H

#include <stddef.h>
#include <stdint.h>

struct axis {
	double low, high;    /* shown range, low < high */
	int64_t first, last; /* tick indices inside the range, first <= last */
	int mantissa;        /* 1, 2 or 5: a tick stands at index x mantissa x 10^exponent */
	int exponent;
};

enum { AXIS_LABEL_SIZE = 24 };

/* Covers low .. high with at most ticks_max (at least 2) ticks, and widens the range to the
 * outermost of them. A range without extent, reversed or not finite becomes one unit wide. */
void axis_fit(struct axis *axis, double low, double high, size_t ticks_max);

/* The same ticks, but the range stays as given: for an axis of time that ends with the data. */
void axis_fit_tight(struct axis *axis, double low, double high, size_t ticks_max);

double axis_tick(const struct axis *axis, int64_t index);
/* Writes the tick's label with the digits that its step needs: "0.25", "120", "-5". */
void axis_label(const struct axis *axis, int64_t index, char *text);

/* Where value stands: 0 at low, 1 at high; outside the range beyond these. */
double axis_fraction(const struct axis *axis, double value);

#endif
