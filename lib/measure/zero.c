/* SPDX-License-Identifier: MIT
 *
 * Block means. A block without samples for longer than itself (a cell was away) begins afresh: a
 * mean over a gap is no mean of anything.
 */
#include "measure/zero.h"

#include <assert.h>

void zero_init(struct zero *zero, size_t cell_count)
{
	assert(cell_count >= 1 && cell_count <= SUM_CELLS_MAX);
	*zero = (struct zero){.cell_count = cell_count};
}

static void begin_block(struct zero *zero, int64_t time_ns)
{
	zero->since_ns = time_ns;
	zero->count = 0;
	zero->sum = (struct zero_level){.load_un = 0};
}

static void end_block(struct zero *zero)
{
	struct zero_level *mean = &zero->blocks[zero->total++ % ZERO_BLOCKS];

	mean->load_un = zero->sum.load_un / zero->count;
	for (size_t i = 0; i < zero->cell_count; i++)
		mean->cells_un[i] = zero->sum.cells_un[i] / zero->count;
}

void zero_feed(struct zero *zero, const struct sample *sample, const int64_t *cells_un)
{
	int64_t lasted_ns = sample->time.ns - zero->since_ns;

	if (zero->count > 0 && lasted_ns >= 2 * ZERO_BLOCK_NS)
		zero_init(zero, zero->cell_count);
	else if (zero->count > 0 && lasted_ns >= ZERO_BLOCK_NS)
		end_block(zero);
	if (zero->count == 0 || lasted_ns >= ZERO_BLOCK_NS)
		begin_block(zero, sample->time.ns);
	zero->count++;
	zero->sum.load_un += sample->load_un;
	for (size_t i = 0; i < zero->cell_count; i++)
		zero->sum.cells_un[i] += cells_un[i];
}

bool zero_read(const struct zero *zero, size_t blocks, int64_t steady_un, struct zero_level *level)
{
	int64_t least = INT64_MAX, most = INT64_MIN;

	assert(blocks >= 1 && blocks <= ZERO_BLOCKS);
	if (zero->total < blocks)
		return false;
	*level = (struct zero_level){.load_un = 0};
	for (size_t i = 1; i <= blocks; i++) {
		const struct zero_level *mean = &zero->blocks[(zero->total - i) % ZERO_BLOCKS];

		least = mean->load_un < least ? mean->load_un : least;
		most = mean->load_un > most ? mean->load_un : most;
		level->load_un += mean->load_un;
		for (size_t k = 0; k < zero->cell_count; k++)
			level->cells_un[k] += mean->cells_un[k];
	}
	level->load_un /= (int64_t)blocks;
	for (size_t k = 0; k < zero->cell_count; k++)
		level->cells_un[k] /= (int64_t)blocks;
	return most - least <= steady_un;
}
