/* SPDX-License-Identifier: MIT
 *
 * The last reading of a chunk was taken when it is stamped, the ones before it evenly back to the
 * chunk before.
 */
#include "judge/chunk.h"

#include "base/larger.h"

enum { PACE_READINGS = 64, CHUNK_MAX = 64 };

/* Readings that follow within this part of the usual interval came in one chunk. */
static const double together = 0.25;

/* One interval as long as this, and so many times as long as the next longest, is a gap: it says
 * nothing of the pace. */
static const double gap_ns = 0.2e9, gap_intervals = 8;

static double between(const struct track *track, size_t from, size_t to)
{
	return (double)(track_time_ns(track, to) - track_time_ns(track, from));
}

double chunk_pace(const struct track *track, size_t until)
{
	size_t count = until < PACE_READINGS ? until : PACE_READINGS;
	if (count == 0)
		return 0;
	double whole = between(track, until - count, until), longest = 0, second = 0;
	for (size_t i = until - count; i < until; i++) {
		double interval = between(track, i, i + 1);
		second = larger(second, smaller(longest, interval));
		longest = larger(longest, interval);
	}
	/* between chunks there are many long ones alike */
	if (count > 1 && longest > gap_ns && longest > gap_intervals * second)
		return (whole - longest) / (double)(count - 1);
	return whole / (double)count;
}

int64_t chunk_taken(const struct track *track, size_t i, double pace_ns)
{
	size_t begin = i, end = i;
	while (end + 1 < track->count && end - i < CHUNK_MAX &&
		between(track, end, end + 1) <= together * pace_ns)
		end++;
	while (begin > 0 && i - begin < CHUNK_MAX &&
		between(track, begin - 1, begin) <= together * pace_ns)
		begin--;
	if (end == begin || begin == 0)
		return track_time_ns(track, i);
	double step = between(track, begin - 1, end) / (double)(end - begin + 1);
	return track_time_ns(track, end) - (int64_t)((double)(end - i) * smaller(step, pace_ns));
}
