/* SPDX-License-Identifier: MIT
 *
 * An array and two indices; see track.h.
 */
#include "judge/track.h"

#include <assert.h>

static void thin(struct track *track)
{
	size_t kept = 0;
	for (size_t i = 1; i < track->count; i += 2)
		track->points[kept++] = track->points[i];
	track->count = kept;
}

bool track_add(struct track *track, struct slope_point point)
{
	bool thinned = track->count == track->capacity;
	if (thinned)
		thin(track);
	track->points[track->count++] = point;
	return thinned;
}

size_t track_smooth(const struct track *track, size_t begin, int64_t length_ns,
	struct slope_point *points, size_t max)
{
	size_t count = 0, from = begin, to = begin; /* the mean is over [from, to) */
	int64_t end_ns = track->points[track->count - 1].time_ns;
	wide sum = 0;
	for (int64_t start_ns = track->points[begin].time_ns;
		start_ns + length_ns <= end_ns && count < max; start_ns += length_ns / 4) {
		while (to < track->count && track->points[to].time_ns < start_ns + length_ns)
			sum += track->points[to++].load_un;
		while (from < to && track->points[from].time_ns < start_ns)
			sum -= track->points[from++].load_un;
		if (to > from)
			points[count++] = (struct slope_point){
				start_ns + length_ns / 2, (int64_t)(sum / (wide)(to - from))};
	}
	return count;
}

size_t track_reach(const struct track *track, size_t begin, int64_t load_un)
{
	size_t i = begin;
	while (i < track->count && track->points[i].load_un < load_un)
		i++;
	return i;
}

size_t track_below(const struct track *track, size_t begin, int64_t load_un)
{
	size_t i = begin;
	while (i < track->count && track->points[i].load_un >= load_un)
		i++;
	return i;
}

void window_init(struct window *window, int64_t length_ns, size_t first)
{
	*window = (struct window){
		.length_ns = length_ns, .first = first, .next = first, .since_ns = INT64_MIN};
	slope_init(&window->slope);
}

/* The old points go first, so that there are never too many; which ones is for the newest alone to
 * say. */
void window_advance(struct window *window, const struct track *track, size_t to)
{
	assert(window->next < to && to <= track->count);
	const struct slope_point *points = track->points;
	int64_t newest_ns = points[to - 1].time_ns;
	size_t first = window->first, next = window->next;
	if (window->since_ns == INT64_MIN)
		window->since_ns = points[next].time_ns;
	if (to - first > SLOPE_POINTS_MAX)
		first = to - SLOPE_POINTS_MAX;
	while (newest_ns - points[first].time_ns > window->length_ns)
		first++;
	size_t gone = first < next ? first : next;
	size_t from = first > next ? first : next;
	slope_slide(&window->slope, points + window->first, gone - window->first, points + from,
		to - from);
	window->first = first;
	window->next = to;
}

void window_rebuild(struct window *window, const struct track *track)
{
	int64_t length_ns = window->length_ns, since_ns = window->since_ns;
	int64_t newest = track->points[track->count - 1].time_ns;
	size_t first = track->count - 1;
	while (first > 0 && newest - track->points[first - 1].time_ns <= length_ns &&
		track->points[first - 1].time_ns >= since_ns &&
		track->count - first < SLOPE_POINTS_MAX)
		first--;
	window_init(window, length_ns, first);
	window->since_ns = since_ns;
	window_advance(window, track, track->count);
}
