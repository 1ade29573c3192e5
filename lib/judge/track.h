/* SPDX-License-Identifier: MIT
 *
 * The track: the samples of one run, in order, kept for the verdict; and windows that slide along
 * it. Its memory is taken once, for the largest number of samples; a run longer than that is
 * thinned by halves (every second sample goes), which costs resolution in time and nothing else:
 * the maximum is kept elsewhere.
 *
 * The newest samples lie open, the older ones packed in blocks: how far times depart from an even
 * pace and loads from the block's least, in as many bits as the block needs. Nothing is lost; a
 * reading of a real cell takes 3 to 4 bytes in place of 16, and no more than that of the memory is
 * ever touched. Whoever reads a packed sample has its block unpacked onto a shelf, where its
 * neighbours are found; so one track is for one thread.
 */
#ifndef JUDGE_TRACK_H
#define JUDGE_TRACK_H

#include "judge/packed.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { TRACK_BLOCK = PACKED_POINTS, TRACK_FRESH = 4 * TRACK_BLOCK, TRACK_SHELVES = 4 };

/* Blocks as they were before they were packed: one for the end of each window that slides. */
struct track_shelves {
	size_t block; /* the one read last, SIZE_MAX: none; and where it lies */
	const struct slope_point *points;
	size_t next; /* the shelf to be cleared next */
	size_t blocks[TRACK_SHELVES];
	struct slope_point shelves[TRACK_SHELVES][TRACK_BLOCK];
};

struct track {
	size_t count, capacity;
	size_t packed;             /* samples [0, packed) lie in blocks */
	struct slope_point *fresh; /* and [packed, count) here, TRACK_FRESH of them at most */
	struct packed *blocks;     /* NULL: nothing is ever packed, `fresh` is the caller's */
	uint64_t *words;           /* the blocks' bits */
	size_t word_count;         /* of them in use */
	struct track_shelves *shelves;
};

/* capacity: how many samples; false when memory is short. Owns its memory until track_finish. */
bool track_init(struct track *track, size_t capacity);
void track_finish(struct track *track);
/* Adds a sample. True if the track was thinned first: windows must be rebuilt. */
bool track_add(struct track *track, struct slope_point point);
/* Takes off the newest samples: so many are left. 0 begins afresh. */
void track_cut(struct track *track, size_t count);
/* Gives the memory of a long run back to the system; the track must be empty. */
void track_give_back(struct track *track);

/* Makes it the block read last. */
void track_shelve(const struct track *track, size_t block);

static inline struct slope_point track_at(const struct track *track, size_t i)
{
	if (i >= track->packed)
		return track->fresh[i - track->packed];
	if (track->shelves->block != i / TRACK_BLOCK)
		track_shelve(track, i / TRACK_BLOCK);
	return track->shelves->points[i % TRACK_BLOCK];
}

/* The points from `from` on, up to `to` or the end of their block; valid until another block is
 * read. */
static inline const struct slope_point *track_stretch(
	const struct track *track, size_t from, size_t to, size_t *count)
{
	*count = to - from;
	if (from >= track->packed)
		return track->fresh + (from - track->packed);
	size_t left = TRACK_BLOCK - from % TRACK_BLOCK;
	*count = *count < left ? *count : left;
	if (track->shelves->block != from / TRACK_BLOCK)
		track_shelve(track, from / TRACK_BLOCK);
	return track->shelves->points + from % TRACK_BLOCK;
}

static inline int64_t track_time_ns(const struct track *track, size_t i)
{
	return track_at(track, i).time_ns;
}

static inline int64_t track_load_un(const struct track *track, size_t i)
{
	return track_at(track, i).load_un;
}

/* A smoothed copy of the track from `begin` on: means over length_ns, a quarter of that apart, as
 * long as they fit. Returns how many points were written. */
size_t track_smooth(const struct track *track, size_t begin, int64_t length_ns,
	struct slope_point *points, size_t max);
/* The first one of the largest samples at or after `begin`. */
size_t track_largest(const struct track *track, size_t begin);
/* The first sample at or after `begin` whose load reaches load_un; count if there is none. */
size_t track_reach(const struct track *track, size_t begin, int64_t load_un);
/* The first sample at or after `begin` whose load is below load_un; count if there is none. */
size_t track_below(const struct track *track, size_t begin, int64_t load_un);

/* The points of the track in the last length_ns up to the newest point taken in. */
struct window {
	int64_t length_ns;
	struct slope slope;
	size_t first, next;          /* points [first, next) are in */
	int64_t first_ns, newest_ns; /* times of the first and the last one that are in */
	int64_t since_ns;            /* of the first one ever taken in */
};

void window_init(struct window *window, int64_t length_ns, size_t first);
/* Takes in the points of the track up to index `to` (next < to), lets the old ones go. In one step
 * or in many: the same points are in. */
void window_advance(struct window *window, const struct track *track, size_t to);
/* After the track was thinned. */
void window_rebuild(struct window *window, const struct track *track);
/* The time that the window's points span, in parts of its length. */
static inline double window_reach(const struct window *window)
{
	return (double)(window->newest_ns - window->first_ns) / (double)window->length_ns;
}

#endif
