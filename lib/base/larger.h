/* SPDX-License-Identifier: MIT
 *
 * The larger and the smaller of two numbers where neither is a NaN: on the way of a reading, where
 * fmax() and fmin() are calls that look for one.
 */
#ifndef BASE_LARGER_H
#define BASE_LARGER_H

static inline double larger(double a, double b)
{
	return a > b ? a : b;
}

static inline double smaller(double a, double b)
{
	return a < b ? a : b;
}

#endif
