/* SPDX-License-Identifier: MIT
 *
 * Seeded random numbers for tests: splitmix64 (public domain algorithm by Sebastiano Vigna). The
 * same seed gives the same numbers on every machine.
 */
#ifndef TESTS_UNIT_RANDOM_H
#define TESTS_UNIT_RANDOM_H

#include <math.h>
#include <stdint.h>

struct random {
	uint64_t state;
};

static inline uint64_t random_bits(struct random *random)
{
	random->state += UINT64_C(0x9E3779B97F4A7C15);
	uint64_t z = random->state;
	z = (z ^ (z >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
	z = (z ^ (z >> 27)) * UINT64_C(0x94D049BB133111EB);
	return z ^ (z >> 31);
}

/* In [low, high). */
static inline double random_between(struct random *random, double low, double high)
{
	return low + (high - low) * ((double)(random_bits(random) >> 11) * 0x1p-53);
}

/* In [low, high), every factor equally likely. */
static inline double random_scale(struct random *random, double low, double high)
{
	return exp(random_between(random, log(low), log(high)));
}

/* 0 .. count - 1 */
static inline int random_pick(struct random *random, int count)
{
	return (int)random_between(random, 0, count);
}

/* Standard normal (Box and Muller). */
static inline double random_normal(struct random *random)
{
	double radius = sqrt(-2 * log(1 - random_between(random, 0, 1)));
	return radius * cos(2 * M_PI * random_between(random, 0, 1));
}

#endif
