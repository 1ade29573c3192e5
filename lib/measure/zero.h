/* SPDX-License-Identifier: MIT
 *
 * What the unloaded press reads: means of its load, and of each cell's, over the newest blocks of
 * half a second, and whether it stood still in them. Whoever feeds it knows that nothing bears;
 * this file only sees whether the load moves. O(cells) per sample, no allocation.
 */
#ifndef MEASURE_ZERO_H
#define MEASURE_ZERO_H

#include "measure/sum.h"

#include <stdbool.h>

#define ZERO_BLOCK_NS (INT64_C(500) * CLOCKS_NS_PER_MS)

enum { ZERO_BLOCKS = 4 };

struct zero_level {
	int64_t load_un; /* the press's */
	int64_t cells_un[SUM_CELLS_MAX];
};

struct zero {
	size_t cell_count;
	int64_t since_ns; /* of the block that is filling; only where count > 0 */
	int64_t count;
	struct zero_level sum;
	struct zero_level blocks[ZERO_BLOCKS]; /* a ring of means */
	size_t total;                          /* blocks ever filled since zero_init */
};

void zero_init(struct zero *zero, size_t cell_count);
/* cells_un: the cells' shares of the sample's load. */
void zero_feed(struct zero *zero, const struct sample *sample, const int64_t *cells_un);
/* The mean over the newest blocks (1 to ZERO_BLOCKS). False while there are fewer, or where two of
 * them differ by more than steady_un: the load moves, and what it reads is no zero. */
bool zero_read(const struct zero *zero, size_t blocks, int64_t steady_un, struct zero_level *level);

#endif
