/* SPDX-License-Identifier: MIT
 *
 * Open samples, packed blocks and what is read from them; see track.h.
 */
#include "judge/track.h"

#include "base/pages.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

/* Memory that is kept when a long run gives its own back: what a run of half a minute at 1 kHz
 * takes, so that the short ones do not ask the system for it again and again. */
enum { KEPT_WORDS = 128 * 1024 / 8 };

bool track_init(struct track *track, size_t capacity)
{
	size_t block_count = capacity / TRACK_BLOCK + 1;
	*track = (struct track){
		.capacity = capacity,
		.fresh = malloc(TRACK_FRESH * sizeof track->fresh[0]),
		.shelves = malloc(sizeof *track->shelves),
		/* untouched pages cost nothing: a short run uses little of them */
		.blocks = malloc(block_count * sizeof track->blocks[0]),
		/* one more, which packed_get may touch */
		.words = malloc((block_count * PACKED_WORDS_MAX + 1) * sizeof track->words[0]),
	};
	if (track->fresh == NULL || track->shelves == NULL || track->blocks == NULL ||
		track->words == NULL) {
		track_finish(track);
		return false;
	}
	track_cut(track, 0);
	return true;
}

void track_finish(struct track *track)
{
	free(track->fresh);
	free(track->shelves);
	free(track->blocks);
	free(track->words);
}

/* The oldest of the open samples become a block. */
static void pack(struct track *track)
{
	size_t block = track->packed / TRACK_BLOCK, open = track->count - track->packed;
	track->word_count +=
		packed_put(&track->blocks[block], track->words, track->word_count, track->fresh);
	track->packed += TRACK_BLOCK;
	memmove(track->fresh, track->fresh + TRACK_BLOCK,
		(open - TRACK_BLOCK) * sizeof track->fresh[0]);
}

static void append(struct track *track, struct slope_point point)
{
	if (track->count - track->packed == TRACK_FRESH)
		pack(track);
	track->fresh[track->count++ - track->packed] = point;
}

/* Every second sample once more from the beginning. The bits move out of the way first, to the end
 * of the memory: it holds the widest ones, so that what is written never reaches what is still to
 * be read. */
static void thin(struct track *track)
{
	struct slope_point newest[TRACK_FRESH], old[TRACK_BLOCK];
	size_t open = track->count - track->packed, block_count = track->packed / TRACK_BLOCK;
	memcpy(newest, track->fresh, open * sizeof newest[0]);
	size_t words_max = (track->capacity / TRACK_BLOCK + 1) * PACKED_WORDS_MAX;
	uint64_t *moved = track->words + words_max - track->word_count;
	memmove(moved, track->words, track->word_count * sizeof moved[0]);
	track_cut(track, 0);
	for (size_t block = 0; block < block_count; block++) {
		packed_get(&track->blocks[block], moved, old);
		for (size_t i = 1; i < TRACK_BLOCK; i += 2)
			append(track, old[i]);
	}
	for (size_t i = 1; i < open; i += 2)
		append(track, newest[i]);
}

bool track_add(struct track *track, struct slope_point point)
{
	bool thinned = track->count == track->capacity;
	if (thinned)
		thin(track);
	append(track, point);
	return thinned;
}

void track_shelve(const struct track *track, size_t block)
{
	struct track_shelves *shelves = track->shelves;
	size_t i = 0;
	while (i < TRACK_SHELVES && shelves->blocks[i] != block)
		i++;
	if (i == TRACK_SHELVES) {
		i = shelves->next;
		shelves->next = (i + 1) % TRACK_SHELVES;
		shelves->blocks[i] = block;
		packed_get(&track->blocks[block], track->words, shelves->shelves[i]);
	}
	shelves->block = block;
	shelves->points = shelves->shelves[i];
}

static void clear_shelves(struct track_shelves *shelves)
{
	shelves->block = SIZE_MAX;
	shelves->next = 0;
	for (size_t i = 0; i < TRACK_SHELVES; i++)
		shelves->blocks[i] = SIZE_MAX;
}

void track_cut(struct track *track, size_t count)
{
	assert(count <= track->count);
	if (count < track->packed || count == 0) {
		size_t block = count / TRACK_BLOCK;
		if (count > 0) {
			packed_get(&track->blocks[block], track->words, track->fresh);
			track->word_count = track->blocks[block].begin;
		} else {
			track->word_count = 0;
		}
		track->packed = block * TRACK_BLOCK;
		clear_shelves(track->shelves);
	}
	track->count = count;
}

void track_give_back(struct track *track)
{
	assert(track->count == 0);
	size_t words_max = (track->capacity / TRACK_BLOCK + 1) * PACKED_WORDS_MAX;
	if (words_max > KEPT_WORDS)
		pages_give_back(track->words + KEPT_WORDS,
			(words_max - KEPT_WORDS) * sizeof track->words[0]);
}

size_t track_smooth(const struct track *track, size_t begin, int64_t length_ns,
	struct slope_point *points, size_t max)
{
	size_t count = 0, from = begin, to = begin; /* the mean is over [from, to) */
	int64_t end_ns = track_time_ns(track, track->count - 1);
	wide sum = 0;
	for (int64_t start_ns = track_time_ns(track, begin);
		start_ns + length_ns <= end_ns && count < max; start_ns += length_ns / 4) {
		while (to < track->count && track_time_ns(track, to) < start_ns + length_ns)
			sum += track_load_un(track, to++);
		while (from < to && track_time_ns(track, from) < start_ns)
			sum -= track_load_un(track, from++);
		if (to > from)
			points[count++] = (struct slope_point){
				start_ns + length_ns / 2, (int64_t)(sum / (wide)(to - from))};
	}
	return count;
}

/* What is known of a block without unpacking it tells of nearly all that they hold nothing. */
size_t track_largest(const struct track *track, size_t begin)
{
	size_t top = begin, count;
	int64_t top_un = track_load_un(track, begin), least_un = top_un;
	for (size_t block = begin / TRACK_BLOCK + 1; block < track->packed / TRACK_BLOCK; block++) {
		if (track->blocks[block].load_un > least_un)
			least_un = track->blocks[block].load_un;
	}
	for (size_t i = begin; i < track->count; i += count) {
		size_t block = i / TRACK_BLOCK;
		count = TRACK_BLOCK - i % TRACK_BLOCK;
		if (i < track->packed && packed_most_un(&track->blocks[block]) < least_un)
			continue;
		const struct slope_point *points = track_stretch(track, i, track->count, &count);
		for (size_t k = 0; k < count; k++) {
			if (points[k].load_un <= top_un)
				continue;
			top = i + k;
			top_un = points[k].load_un;
		}
	}
	return top;
}

size_t track_reach(const struct track *track, size_t begin, int64_t load_un)
{
	size_t count;
	for (size_t i = begin; i < track->count; i += count) {
		size_t block = i / TRACK_BLOCK;
		count = TRACK_BLOCK - i % TRACK_BLOCK;
		if (i < track->packed && packed_most_un(&track->blocks[block]) < load_un)
			continue;
		const struct slope_point *points = track_stretch(track, i, track->count, &count);
		for (size_t k = 0; k < count; k++) {
			if (points[k].load_un >= load_un)
				return i + k;
		}
	}
	return track->count;
}

size_t track_below(const struct track *track, size_t begin, int64_t load_un)
{
	size_t count;
	for (size_t i = begin; i < track->count; i += count) {
		count = TRACK_BLOCK - i % TRACK_BLOCK;
		if (i < track->packed && track->blocks[i / TRACK_BLOCK].load_un >= load_un)
			continue;
		const struct slope_point *points = track_stretch(track, i, track->count, &count);
		for (size_t k = 0; k < count; k++) {
			if (points[k].load_un < load_un)
				return i + k;
		}
	}
	return track->count;
}

void window_init(struct window *window, int64_t length_ns, size_t first)
{
	*window = (struct window){
		.length_ns = length_ns, .first = first, .next = first, .since_ns = INT64_MIN};
	slope_init(&window->slope);
}

/* In steps that go with one: there are never more points in it than before or after. */
static void slide(struct slope *slope, const struct track *track, size_t out, size_t out_end,
	size_t in, size_t in_end)
{
	struct slope_point copy[TRACK_BLOCK];
	while (out < out_end || in < in_end) {
		size_t out_count, in_count;
		const struct slope_point *come = track_stretch(track, in, in_end, &in_count);
		if (in < track->packed && out < out_end)
			come = memcpy(copy, come, in_count * sizeof copy[0]);
		const struct slope_point *gone = track_stretch(track, out, out_end, &out_count);
		size_t both = out_count < in_count ? out_count : in_count;
		if (both > 0)
			out_count = in_count = both;
		slope_slide(slope, gone, out_count, come, in_count);
		out += out_count;
		in += in_count;
	}
}

/* One point comes and one goes: nearly always, where each sample is looked at. False, and nothing
 * done, if it is not so. */
static bool step(struct window *window, const struct track *track, struct slope_point newest)
{
	size_t first = window->first;
	if (window->next - first < 2)
		return false;
	struct slope_point oldest = track_at(track, first), second = track_at(track, first + 1);
	if (newest.time_ns - oldest.time_ns <= window->length_ns ||
		newest.time_ns - second.time_ns > window->length_ns ||
		!slope_swap(&window->slope, oldest, newest))
		return false;
	window->first = first + 1;
	window->first_ns = second.time_ns;
	window->next++;
	window->newest_ns = newest.time_ns;
	return true;
}

/* The old points go first, so that there are never too many; which ones is for the newest alone to
 * say. */
void window_advance(struct window *window, const struct track *track, size_t to)
{
	assert(window->next < to && to <= track->count);
	struct slope_point newest = track_at(track, to - 1);
	if (to - window->next == 1 && step(window, track, newest))
		return;
	size_t first = window->first, next = window->next;
	if (window->since_ns == INT64_MIN)
		window->since_ns = track_time_ns(track, next);
	if (to - first > SLOPE_POINTS_MAX)
		first = to - SLOPE_POINTS_MAX;
	while (newest.time_ns - track_time_ns(track, first) > window->length_ns)
		first++;
	size_t gone = first < next ? first : next;
	size_t from = first > next ? first : next;
	slide(&window->slope, track, window->first, gone, from, to);
	window->first = first;
	window->first_ns = track_time_ns(track, first);
	window->next = to;
	window->newest_ns = newest.time_ns;
}

void window_rebuild(struct window *window, const struct track *track)
{
	int64_t length_ns = window->length_ns, since_ns = window->since_ns;
	int64_t newest = track_time_ns(track, track->count - 1);
	size_t first = track->count - 1;
	while (first > 0 && newest - track_time_ns(track, first - 1) <= length_ns &&
		track_time_ns(track, first - 1) >= since_ns &&
		track->count - first < SLOPE_POINTS_MAX)
		first--;
	window_init(window, length_ns, first);
	window->since_ns = since_ns;
	window_advance(window, track, track->count);
}
