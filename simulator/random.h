/* SPDX-License-Identifier: MIT
 *
 * The simulator's random numbers: xoshiro256** seeded through splitmix64 (both public domain, by
 * D. Blackman and S. Vigna). One seed gives the same bytes on every machine. Not for secrets.
 */
#ifndef SIMULATOR_RANDOM_H
#define SIMULATOR_RANDOM_H

#include <stdint.h>

struct random {
	uint64_t state[4];
};

void random_init(struct random *random, uint64_t seed);
uint64_t random_bits(struct random *random);
/* Uniform in [0, 1). */
double random_unit(struct random *random);
/* Normal with mean 0 and standard deviation 1. */
double random_normal(struct random *random);

#endif
