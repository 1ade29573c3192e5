/* SPDX-License-Identifier: MIT
 *
 * When the readings of a chunk were taken. They are stamped together, as they arrive, but the cell
 * took them one after the other at its own pace: a fall that comes in one chunk looks faster than
 * it was.
 */
#ifndef JUDGE_CHUNK_H
#define JUDGE_CHUNK_H

#include "judge/track.h"

/* The usual time between two samples of the track up to the sample `until`, in ns; 0: not known. */
double chunk_pace(const struct track *track, size_t until);
/* When sample i was taken, in ns. What stands alone was taken when it is stamped. O(chunk). */
int64_t chunk_taken(const struct track *track, size_t i, double pace_ns);

#endif
