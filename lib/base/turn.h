/* SPDX-License-Identifier: MIT
 *
 * Sine and cosine of an angle in turns. The mathematics library's are as good, but their last digit
 * depends on the machine; these are the same on every one, for what must come out alike.
 */
#ifndef BASE_TURN_H
#define BASE_TURN_H

#include <stdint.h>

struct turn_wave {
	double sine, cosine;
};

/* Within 1e-15; |turns| below 1e9. */
static inline struct turn_wave turn_wave(double turns)
{
	const double quarter = 1.5707963267948966;
	int64_t quarters = (int64_t)(4 * turns + (turns < 0 ? -0.5 : 0.5));
	double x = (4 * turns - (double)quarters) * quarter, y = x * x; /* within an eighth */
	/* The series, 1 / n!: the first term left out is below 1e-17. */
	double s = 1.0 / 1307674368000 - y * (1.0 / 355687428096000);
	s = 1.0 / 362880 - y * (1.0 / 39916800 - y * (1.0 / 6227020800 - y * s));
	s = x - x * y * (1.0 / 6 - y * (1.0 / 120 - y * (1.0 / 5040 - y * s)));
	double c = 1.0 / 87178291200 - y * (1.0 / 20922789888000);
	c = 1.0 / 40320 - y * (1.0 / 3628800 - y * (1.0 / 479001600 - y * c));
	c = 1 - y * (1.0 / 2 - y * (1.0 / 24 - y * (1.0 / 720 - y * c)));
	switch (quarters & 3) {
	case 0:
		return (struct turn_wave){s, c};
	case 1:
		return (struct turn_wave){c, -s};
	case 2:
		return (struct turn_wave){-s, -c};
	default:
		return (struct turn_wave){-c, s};
	}
}

#endif
