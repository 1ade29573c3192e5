/* SPDX-License-Identifier: MIT
 *
 * 128-bit integers for products that must stay exact, and the one division that rounds half to
 * even. Inside lib/ only.
 */
#ifndef BASE_WIDE_H
#define BASE_WIDE_H

#include <assert.h>
#include <stdint.h>

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

/* (double)value, rounded half to even like the cast, but quicker than the compiler's own function:
 * cut into two parts that are both exact, so that only their sum rounds. A part that has too many
 * bits keeps the lowest as "there was something": far below the place where the sum rounds. */
static inline double wide_to_double(wide value)
{
	const double two_32 = 4294967296.0, two_64 = two_32 * two_32;
	int64_t high = (int64_t)(value >> 64);
	uint64_t low = (uint64_t)value;
	if (high >= -(INT64_C(1) << 20) && high < INT64_C(1) << 20)
		return (double)(int64_t)(value >> 32) * two_32 + (double)(uint32_t)low;
	if (high < -(INT64_C(1) << 52) || high >= INT64_C(1) << 52)
		return (double)value;
	int64_t sticky = (int64_t)(low >> 11) | ((low & 0x7ff) != 0);
	return (double)high * two_64 + (double)sticky * 2048.0;
}

/* 10^exponent, exponent 0 .. 38. */
static inline wide wide_power_of_ten(int exponent)
{
	assert(exponent >= 0 && exponent <= 38);
	const wide ten_16 = 10000000000000000;
	wide power = 1;
	for (; exponent >= 16; exponent -= 16)
		power *= ten_16;
	int64_t rest = 1;
	for (; exponent > 0; exponent--)
		rest *= 10;
	return power * rest;
}

#endif
