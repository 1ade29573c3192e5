/* SPDX-License-Identifier: MIT
 *
 * A ring that grows within its memory while two seconds do not fit. Beyond PREROLL_MAX the
 * oldest go early: 32 000 readings a second are more than any press has.
 */
#include "preroll.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

bool preroll_init(struct preroll *preroll)
{
	*preroll = (struct preroll){.limit = PREROLL_STEP};
	preroll->entries = calloc(PREROLL_MAX, sizeof *preroll->entries);
	return preroll->entries != NULL;
}

void preroll_finish(struct preroll *preroll)
{
	free(preroll->entries);
	preroll->entries = NULL;
}

static struct preroll_packed pack(size_t cell, const struct reading *reading)
{
	struct preroll_packed packed = {
		.time_ns = reading->time.ns,
		.mantissa = reading->value.mantissa,
		.counter = reading->counter,
		.status = reading->status,
		.cell = (uint16_t)cell,
		.unit = (uint8_t)reading->unit,
		.exponent = (int8_t)reading->value.exponent,
	};

	assert(packed.cell == cell && packed.unit == (unsigned)reading->unit &&
		packed.exponent == reading->value.exponent);
	return packed;
}

static const struct preroll_packed *packed_at(const struct preroll *preroll, size_t i)
{
	assert(i < preroll->count);
	return &preroll->entries[(preroll->first + i) % preroll->limit];
}

struct preroll_entry preroll_at(const struct preroll *preroll, size_t i)
{
	const struct preroll_packed *packed = packed_at(preroll, i);

	return (struct preroll_entry){
		.cell = packed->cell,
		.reading =
			{
				.time = {packed->time_ns},
				.value = {packed->mantissa, packed->exponent},
				.unit = (enum unit)packed->unit,
				.status = packed->status,
				.counter = packed->counter,
			},
	};
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
	/* The older part moves to the end of the memory now in use. */
	struct preroll_packed *older = preroll->entries + preroll->first;
	memmove(older + PREROLL_STEP, older,
		(preroll->limit - preroll->first) * sizeof *preroll->entries);
	preroll->first += PREROLL_STEP;
	preroll->limit += PREROLL_STEP;
}

void preroll_put(struct preroll *preroll, size_t cell, const struct reading *reading)
{
	while (preroll->count && packed_at(preroll, 0)->time_ns < reading->time.ns - PREROLL_NS)
		drop_oldest(preroll);
	make_room(preroll);
	assert(preroll->count < preroll->limit);
	preroll->entries[(preroll->first + preroll->count) % preroll->limit] = pack(cell, reading);
	preroll->count++;
}

void preroll_clear(struct preroll *preroll)
{
	preroll->first = preroll->count = 0;
}
