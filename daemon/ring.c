/* SPDX-License-Identifier: MIT
 *
 * See ring.h. Costs: O(1) to put and to look, at most RING_SETTLED jobs moved when dropping.
 */
#include "ring.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

bool ring_init(struct ring *ring, size_t size)
{
	assert(size >= (size_t)4 * RING_RESERVE);
	*ring = (struct ring){.size = size};
	ring->jobs = calloc(size, sizeof *ring->jobs);
	return ring->jobs != NULL;
}

void ring_finish(struct ring *ring)
{
	free(ring->jobs);
	*ring = (struct ring){.size = 0};
}

bool ring_put(struct ring *ring, const struct job *job)
{
	size_t limit = ring->size - (job->kind == JOB_READING ? (size_t)RING_RESERVE : 0);

	if (ring->count >= limit)
		return false;
	ring->jobs[(ring->first + ring->count) % ring->size] = *job;
	ring->count++;
	return true;
}

struct job *ring_at(struct ring *ring, size_t i)
{
	assert(i < ring->size); /* the count is the other thread's to change */
	return &ring->jobs[(ring->first + i) % ring->size];
}

void ring_drop(struct ring *ring, size_t count)
{
	assert(count <= ring->count);
	ring->count -= count;
	ring->first = (ring->first + count) % ring->size;
	if (ring->count > RING_SETTLED || ring->first + ring->count > ring->size)
		return;
	memmove(ring->jobs, ring->jobs + ring->first, ring->count * sizeof *ring->jobs);
	ring->first = 0;
}
