/* SPDX-License-Identifier: MIT
 *
 * A ring whose size doubles within its memory while two seconds do not fit. Beyond PREROLL_MAX the
 * oldest go early: 32 000 readings a second are more than any press has.
 */
#include "preroll.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

bool preroll_init(struct preroll *preroll)
{
	*preroll = (struct preroll){.limit = PREROLL_FIRST};
	preroll->entries = calloc(PREROLL_MAX, sizeof *preroll->entries);
	return preroll->entries != NULL;
}

void preroll_finish(struct preroll *preroll)
{
	free(preroll->entries);
	preroll->entries = NULL;
}

const struct preroll_entry *preroll_at(const struct preroll *preroll, size_t i)
{
	assert(i < preroll->count);
	return &preroll->entries[(preroll->first + i) % preroll->limit];
}

static void drop_oldest(struct preroll *preroll)
{
	preroll->first = (preroll->first + 1) % preroll->limit;
	preroll->count--;
}

static void make_room(struct preroll *preroll)
{
	if (preroll->count < preroll->limit)
		return;
	if (preroll->limit == PREROLL_MAX) {
		drop_oldest(preroll);
		return;
	}
	/* The part that wrapped around goes behind the rest. */
	memcpy(preroll->entries + preroll->limit, preroll->entries,
		preroll->first * sizeof *preroll->entries);
	preroll->limit *= 2;
}

void preroll_put(struct preroll *preroll, size_t cell, const struct reading *reading)
{
	while (preroll->count &&
		preroll_at(preroll, 0)->reading.time.ns < reading->time.ns - PREROLL_NS)
		drop_oldest(preroll);
	make_room(preroll);
	assert(preroll->count < preroll->limit);
	preroll->entries[(preroll->first + preroll->count) % preroll->limit] =
		(struct preroll_entry){cell, *reading};
	preroll->count++;
}

void preroll_clear(struct preroll *preroll)
{
	preroll->first = preroll->count = 0;
}
