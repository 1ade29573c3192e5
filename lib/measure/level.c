/* SPDX-License-Identifier: MIT
 *
 * Block means. A block without samples for longer than itself (a cell was away) begins afresh: a
 * mean over a gap is no mean of anything.
 */
#include "measure/level.h"

#include <assert.h>

void level_init(struct level *level, size_t cell_count)
{
	assert(cell_count >= 1 && cell_count <= SUM_CELLS_MAX);
	*level = (struct level){.cell_count = cell_count};
}

static void begin_block(struct level *level, int64_t time_ns)
{
	level->since_ns = time_ns;
	level->count = 0;
	level->sum = (struct level_mean){.load_un = 0};
}

static void end_block(struct level *level)
{
	struct level_mean *mean = &level->blocks[level->total++ % LEVEL_BLOCKS];

	mean->load_un = level->sum.load_un / level->count;
	for (size_t i = 0; i < level->cell_count; i++)
		mean->cells_un[i] = level->sum.cells_un[i] / level->count;
}

void level_feed(struct level *level, const struct sample *sample, const int64_t *cells_un)
{
	int64_t lasted_ns = sample->time.ns - level->since_ns;

	if (level->count > 0 && lasted_ns >= 2 * LEVEL_BLOCK_NS)
		level_init(level, level->cell_count);
	else if (level->count > 0 && lasted_ns >= LEVEL_BLOCK_NS)
		end_block(level);
	if (level->count == 0 || lasted_ns >= LEVEL_BLOCK_NS)
		begin_block(level, sample->time.ns);
	level->count++;
	level->sum.load_un += sample->load_un;
	for (size_t i = 0; i < level->cell_count; i++)
		level->sum.cells_un[i] += cells_un[i];
}

bool level_read(
	const struct level *level, size_t blocks, int64_t steady_un, struct level_mean *mean)
{
	int64_t least = INT64_MAX, most = INT64_MIN;

	assert(blocks >= 1 && blocks <= LEVEL_BLOCKS);
	if (level->total < blocks)
		return false;
	*mean = (struct level_mean){.load_un = 0};
	for (size_t i = 1; i <= blocks; i++) {
		const struct level_mean *block = &level->blocks[(level->total - i) % LEVEL_BLOCKS];

		least = block->load_un < least ? block->load_un : least;
		most = block->load_un > most ? block->load_un : most;
		mean->load_un += block->load_un;
		for (size_t k = 0; k < level->cell_count; k++)
			mean->cells_un[k] += block->cells_un[k];
	}
	mean->load_un /= (int64_t)blocks;
	for (size_t k = 0; k < level->cell_count; k++)
		mean->cells_un[k] /= (int64_t)blocks;
	return most - least <= steady_un;
}
