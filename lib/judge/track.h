/* SPDX-License-Identifier: MIT
 *
 * The track: the samples of one run, in order, kept for the verdict; and windows that slide along
 * it. Memory is the caller's and fixed; a run longer than that is thinned by halves (every second
 * sample goes), which costs resolution in time and nothing else: the maximum is kept elsewhere.
 */
#ifndef JUDGE_TRACK_H
#define JUDGE_TRACK_H

#include "judge/slope.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct track {
	struct slope_point *points; /* not owned */
	size_t count, capacity;
};

/* Adds a sample. True if the track was thinned first: windows must be rebuilt. */
bool track_add(struct track *track, struct slope_point point);
/* A smoothed copy of the track from `begin` on: means over length_ns, a quarter of that apart, as
 * long as they fit. Returns how many points were written. */
size_t track_smooth(const struct track *track, size_t begin, int64_t length_ns,
	struct slope_point *points, size_t max);
/* The first sample at or after `begin` whose load reaches load_un; count if there is none. */
size_t track_reach(const struct track *track, size_t begin, int64_t load_un);
/* The first sample at or after `begin` whose load is below load_un; count if there is none. */
size_t track_below(const struct track *track, size_t begin, int64_t load_un);

/* The points of the track in the last length_ns up to the newest point taken in. */
struct window {
	int64_t length_ns;
	struct slope slope;
	size_t first, next; /* points [first, next) are in */
	int64_t since_ns;   /* time of the first point ever taken in */
};

void window_init(struct window *window, int64_t length_ns, size_t first);
/* Takes in the points of the track up to index `to` (next < to), lets the old ones go. In one step
 * or in many: the same points are in. */
void window_advance(struct window *window, const struct track *track, size_t to);
/* After the track was thinned. */
void window_rebuild(struct window *window, const struct track *track);
/* The time that the window's points span, in parts of its length. */
static inline double window_reach(const struct window *window, const struct track *track)
{
	if (window->next == window->first)
		return 0;
	int64_t reach_ns =
		track->points[window->next - 1].time_ns - track->points[window->first].time_ns;
	return (double)reach_ns / (double)window->length_ns;
}

#endif
