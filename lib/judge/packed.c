/* SPDX-License-Identifier: MIT
 *
 * Differences are formed without signs, so that none overflows and each comes back; see packed.h.
 */
#include "judge/packed.h"

#include <endian.h>
#include <string.h>

/* So many bits lie in eight bytes wherever they begin. Differences of loads do, with few more. */
enum { NARROW_BITS = 57 };

/* Differences of loads are below 2^50 uN: exact in floating point, which counts units faster than
 * integers are divided, and to less than half a unit. */
static_assert(UNITS_LOAD_UN_MAX < INT64_C(1) << 49, "counted exactly");

static uint8_t bits_of(uint64_t value)
{
	return value == 0 ? 0 : (uint8_t)(64 - __builtin_clzll(value));
}

static int64_t common(int64_t a, int64_t b)
{
	while (b != 0) {
		int64_t rest = a % b;
		a = b;
		b = rest;
	}
	return a < 0 ? -a : a;
}

/* How many units each load is above the least, the unit being the largest that makes them whole:
 * it is known after a few loads, and then they are counted from the beginning again. */
static int64_t count_units(const struct slope_point *points, int64_t least_un, uint64_t *units)
{
	int64_t unit_un = 0;
	double per_unit = 0;
	for (size_t i = 0; i < PACKED_POINTS;) {
		int64_t above_un = points[i].load_un - least_un;
		int64_t count = (int64_t)((double)above_un * per_unit + 0.5);
		units[i++] = (uint64_t)count;
		if (count * unit_un == above_un)
			continue;
		unit_un = common(above_un, unit_un);
		per_unit = 1 / (double)unit_un;
		i = 0;
	}
	return unit_un;
}

/* Returns the largest number of units. */
static uint64_t pack_loads(struct packed *packed, const struct slope_point *points, uint64_t *units)
{
	int64_t least_un = points[0].load_un;
	uint64_t most = 0;
	for (size_t i = 1; i < PACKED_POINTS; i++)
		least_un = points[i].load_un < least_un ? points[i].load_un : least_un;
	packed->load_un = least_un;
	packed->unit_un = count_units(points, least_un, units);
	for (size_t i = 0; i < PACKED_POINTS; i++)
		most |= units[i];
	return most;
}

/* Returns the largest departure. */
static uint64_t pack_times(struct packed *packed, const struct slope_point *points, uint64_t *late)
{
	uint64_t first = (uint64_t)points[0].time_ns;
	int64_t step_ns =
		(points[PACKED_POINTS - 1].time_ns - points[0].time_ns) / (PACKED_POINTS - 1);
	int64_t least = 0, most = 0;
	for (size_t i = 0; i < PACKED_POINTS; i++) {
		late[i] = (uint64_t)points[i].time_ns - first - i * (uint64_t)step_ns;
		int64_t signed_late = (int64_t)late[i];
		least = signed_late < least ? signed_late : least;
		most = signed_late > most ? signed_late : most;
	}
	for (size_t i = 0; i < PACKED_POINTS; i++)
		late[i] -= (uint64_t)least;
	packed->time_ns = points[0].time_ns + least;
	packed->step_ns = step_ns;
	return (uint64_t)most - (uint64_t)least;
}

/* Values of `width` bits each, one after the other; returns how many words they fill, which is
 * whole words: 128 values of any width. */
static size_t put_all(uint64_t *words, uint8_t width, const uint64_t *values)
{
	uint64_t word = 0;
	unsigned used = 0;
	size_t count = 0;
	for (size_t i = 0; width > 0 && i < PACKED_POINTS; i++) {
		word |= values[i] << used;
		used += width;
		if (used < 64)
			continue;
		words[count++] = htole64(word);
		used -= 64;
		word = used > 0 ? values[i] >> (width - used) : 0;
	}
	return count;
}

size_t packed_put(struct packed *packed, uint64_t *words, size_t begin,
	const struct slope_point points[PACKED_POINTS])
{
	uint64_t late[PACKED_POINTS], units[PACKED_POINTS];
	packed->time_bits = bits_of(pack_times(packed, points, late));
	packed->load_bits = bits_of(pack_loads(packed, points, units));
	packed->begin = (uint32_t)begin;
	size_t count = put_all(words + begin, packed->time_bits, late);
	return count + put_all(words + begin + count, packed->load_bits, units);
}

/* A value of up to NARROW_BITS, wherever its bits begin: they lie in eight bytes. Of those, as many
 * as seven may be another's, or behind them all. */
static inline uint64_t get(const uint64_t *words, size_t bit, uint64_t mask)
{
	uint64_t value;
	memcpy(&value, (const unsigned char *)words + bit / 8, sizeof value);
	return le64toh(value) >> bit % 8 & mask;
}

static uint64_t get_wide(const uint64_t *words, size_t bit, uint64_t mask)
{
	return (get(words, bit, UINT32_MAX) | get(words, bit + 32, UINT32_MAX) << 32) & mask;
}

static uint64_t mask_of(uint8_t width)
{
	return width > 0 ? UINT64_MAX >> (64 - width) : 0;
}

void packed_get(const struct packed *packed, const uint64_t *words,
	struct slope_point points[PACKED_POINTS])
{
	uint64_t time_mask = mask_of(packed->time_bits), load_mask = mask_of(packed->load_bits);
	bool wide_times = packed->time_bits > NARROW_BITS;
	size_t time_bit = 64 * (size_t)packed->begin;
	size_t load_bit = time_bit + (size_t)packed->time_bits * PACKED_POINTS;
	uint64_t time = (uint64_t)packed->time_ns;
	for (size_t i = 0; i < PACKED_POINTS; i++) {
		uint64_t late = wide_times ? get_wide(words, time_bit, time_mask)
					   : get(words, time_bit, time_mask);
		uint64_t units = get(words, load_bit, load_mask);
		points[i].time_ns = (int64_t)(time + late);
		points[i].load_un = packed->load_un + (int64_t)units * packed->unit_un;
		time += (uint64_t)packed->step_ns;
		time_bit += packed->time_bits;
		load_bit += packed->load_bits;
	}
}
