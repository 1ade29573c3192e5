/* SPDX-License-Identifier: MIT
 *
 * Means of the press's load, and of each cell's, over the newest blocks of half a second, and
 * whether it stood still in them: for what the unloaded press reads, and for the point of thrust,
 * where one wrong reading must not count. O(cells) per sample, no allocation.
 */
#ifndef MEASURE_LEVEL_H
#define MEASURE_LEVEL_H

#include "measure/sum.h"

#include <stdbool.h>

#define LEVEL_BLOCK_NS (INT64_C(500) * CLOCKS_NS_PER_MS)

enum { LEVEL_BLOCKS = 4 };

struct level_mean {
	int64_t load_un; /* the press's */
	int64_t cells_un[SUM_CELLS_MAX];
};

struct level {
	size_t cell_count;
	int64_t since_ns; /* of the block that is filling; only where count > 0 */
	int64_t count;
	struct level_mean sum;
	struct level_mean blocks[LEVEL_BLOCKS]; /* a ring of means */
	size_t total;                           /* blocks ever filled since level_init */
};

void level_init(struct level *level, size_t cell_count);
/* cells_un: the cells' shares of the sample's load. */
void level_feed(struct level *level, const struct sample *sample, const int64_t *cells_un);
/* The mean over the newest blocks (1 to LEVEL_BLOCKS). False while there are fewer, or where two of
 * them differ by more than steady_un: the load moves. */
bool level_read(
	const struct level *level, size_t blocks, int64_t steady_un, struct level_mean *mean);

#endif
