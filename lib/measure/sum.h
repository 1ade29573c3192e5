/* SPDX-License-Identifier: MIT
 *
 * The press's load from its cells: one sample at each reading of the first cell, the other cells
 * interpolated linearly to that instant between the two readings around it: the first one that is
 * not before the instant, and the one before that. Where they are farther apart than the tolerance,
 * or there is no reading before the instant, there is no sample: a gap, never a guess. A reading at
 * the very instant needs no other.
 *
 * Marks on readings (late, missing before it, repeated) pass to the sample made of them. A repeated
 * reading makes none. A sample is late if any reading that it was made of is.
 *
 * The samples are a function of each cell's sequence of readings alone; how the cells' readings
 * interleave on arrival only changes when a sample comes out, so that live and replay agree.
 * O(cells) per reading in the mean; no allocation. At most SUM_PENDING readings of the first cell
 * wait for the slower cells; beyond that the oldest is given up (counted in lost). Of every other
 * cell as many wait, and the oldest is forgotten. Nothing that could still make a sample is given
 * up as long as no cell runs ahead of another by more than SUM_PENDING readings (at 1 kHz, the
 * tolerance).
 */
#ifndef MEASURE_SUM_H
#define MEASURE_SUM_H

#include "measure/sample.h"
#include "measure/scale.h"

#include <stddef.h>

enum { SUM_CELLS_MAX = 8, SUM_PENDING = 256 };

/* Cells read at 10 Hz are 100 ms apart; a quarter of a second leaves room for one lost reading. */
#define SUM_TOLERANCE_NS (INT64_C(250) * CLOCKS_NS_PER_MS)

struct sum_point {
	int64_t time_ns;
	int64_t load_un;
	unsigned marks; /* enum sample_flag: what its reading brings to a sample made of it */
};

/* Opaque by convention: made by sum_init, read only through the functions below. */
struct sum {
	size_t cell_count; /* 1 .. SUM_CELLS_MAX */
	struct scale scale[SUM_CELLS_MAX];
	struct scale_form form[SUM_CELLS_MAX];
	int64_t capacity_un; /* above it a sample is flagged over range; 0: unknown */
	struct sum_point pending[SUM_CELLS_MAX][SUM_PENDING];
	size_t first[SUM_CELLS_MAX], count[SUM_CELLS_MAX];
	unsigned owed[SUM_CELLS_MAX]; /* marks of readings that made no point, for the next one */
	unsigned owed_sample;         /* marks of instants that made no sample */
	uint64_t lost;
	int64_t shares_un[SUM_CELLS_MAX]; /* what sum_shares gives */
};

typedef void sum_take(void *context, const struct sample *sample);

void sum_init(struct sum *sum, size_t cell_count, const struct scale *scales, int64_t capacity_un);
/* Forgets the readings that wait (after a gap, before a run is replayed). */
void sum_reset(struct sum *sum);
/* Feeds one reading of one cell; calls take for each sample that is now complete. A reading that
 * cannot be scaled makes no sample; its reason is returned. With one cell a reading marked OVER
 * yields a sample flagged SAMPLE_OVER_RANGE if its digits are a number; with more it makes none,
 * and the next sample is flagged. */
enum scale_error sum_feed(
	struct sum *sum, size_t cell, const struct reading *reading, sum_take *take, void *context);

/* The cells' parts of the sample that take is called with; only within that call. */
const int64_t *sum_shares(const struct sum *sum);

#endif
