/* SPDX-License-Identifier: MIT
 *
 * xoshiro256**, splitmix64 and Marsaglia's polar method. The second normal value of a pair is
 * thrown away: the state is then the four words alone.
 */
#include "random.h"

#include <math.h>

static uint64_t rotate_left(uint64_t bits, unsigned by)
{
	return (bits << by) | (bits >> (64 - by));
}

static uint64_t splitmix(uint64_t *seed)
{
	uint64_t mixed = *seed += UINT64_C(0x9e3779b97f4a7c15);
	mixed = (mixed ^ (mixed >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
	mixed = (mixed ^ (mixed >> 27)) * UINT64_C(0x94d049bb133111eb);
	return mixed ^ (mixed >> 31);
}

void random_init(struct random *random, uint64_t seed)
{
	for (int i = 0; i < 4; i++)
		random->state[i] = splitmix(&seed);
}

uint64_t random_bits(struct random *random)
{
	uint64_t *s = random->state;
	uint64_t result = rotate_left(s[1] * 5, 7) * 9;
	uint64_t shifted = s[1] << 17;

	s[2] ^= s[0];
	s[3] ^= s[1];
	s[1] ^= s[2];
	s[0] ^= s[3];
	s[2] ^= shifted;
	s[3] = rotate_left(s[3], 45);
	return result;
}

double random_unit(struct random *random)
{
	return (double)(random_bits(random) >> 11) * 0x1p-53;
}

double random_normal(struct random *random)
{
	double x, y, square;
	do {
		x = 2 * random_unit(random) - 1;
		y = 2 * random_unit(random) - 1;
		square = x * x + y * y;
	} while (square >= 1 || square == 0);
	return x * sqrt(-2 * log(square) / square);
}
