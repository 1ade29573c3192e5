/* SPDX-License-Identifier: MIT
 *
 * A block of samples in few bits, exactly: times as what they depart from an even pace, loads as
 * multiples of their common unit above the least of them. Both in as many bits as the block needs,
 * and at most 128 a sample, whatever the samples are.
 */
#ifndef JUDGE_PACKED_H
#define JUDGE_PACKED_H

#include "judge/slope.h"

enum { PACKED_POINTS = 128, PACKED_WORDS_MAX = 2 * PACKED_POINTS };

struct packed {
	int64_t time_ns, step_ns; /* of sample i, at the least: time_ns + i step_ns */
	int64_t load_un, unit_un;
	uint32_t begin; /* first of its words */
	uint8_t time_bits, load_bits;
};

/* Writes the samples' bits from words[begin] on and returns how many words. */
size_t packed_put(struct packed *packed, uint64_t *words, size_t begin,
	const struct slope_point points[PACKED_POINTS]);
/* The word behind the samples' must be there too: it is read with them, whatever it holds. */
void packed_get(const struct packed *packed, const uint64_t *words,
	struct slope_point points[PACKED_POINTS]);

/* No load of the block is above it; the least one is load_un. */
static inline int64_t packed_most_un(const struct packed *packed)
{
	return packed->load_un + ((INT64_C(1) << packed->load_bits) - 1) * packed->unit_un;
}

#endif
