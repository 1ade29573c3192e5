/* SPDX-License-Identifier: MIT
 *
 * 128-bit integers for products that must stay exact, and the one division that rounds half to
 * even. Inside lib/ only.
 */
#ifndef BASE_WIDE_H
#define BASE_WIDE_H

#include <assert.h>

__extension__ typedef __int128 wide;

/* numerator / denominator rounded half to even; denominator > 0, |both| below 2^126. */
static inline wide wide_divide_even(wide numerator, wide denominator)
{
	assert(denominator > 0);
	wide quotient = numerator / denominator;
	wide rest = numerator % denominator;
	wide twice = rest < 0 ? -2 * rest : 2 * rest;
	if (twice > denominator || (twice == denominator && quotient % 2 != 0))
		quotient += numerator < 0 ? -1 : 1;
	return quotient;
}

/* 10^exponent, exponent 0 .. 38. */
static inline wide wide_power_of_ten(int exponent)
{
	assert(exponent >= 0 && exponent <= 38);
	wide power = 1;
	for (int i = 0; i < exponent; i++)
		power *= 10;
	return power;
}

#endif
