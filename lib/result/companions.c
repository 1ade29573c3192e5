/* SPDX-License-Identifier: MIT */
#include "result/companions.h"

#include <math.h>

/* Nominal sizes are much farther apart than this part of each other. */
static const double same_size = 0.05;

const char *const companions_checklist[] = {
	"the specimens' names: were two of them changed over?",
	"the diameters as typed, and where they were measured",
	"the ends: rough, convex, out of plane, out of square; caps thick, sloped or chipped",
	"the position in the press: centred, the block free to tilt, its face clean",
	"the types of fracture, voids, segregation, fracture through or around the aggregate",
	"the load-time curves: rate, stand-stills, falls, zero",
	"curing, transport and moisture up to the test; age against the hour of casting",
	"how the specimens were made: consolidation, moulds, sampling",
	NULL,
};

double companions_limit(const struct method *method, int64_t width_um, bool field, size_t count)
{
	for (size_t i = 0; i < method->range_count; i++) {
		const struct method_range *range = &method->ranges[i];
		double off = fabs((double)width_um / (double)range->width_um - 1);
		if (off <= same_size && range->field == field && (size_t)range->count == count)
			return range->percent;
	}
	return 0;
}

struct companions companions_of(const struct method *method, int64_t width_um, bool field,
	const double *strengths_pa, size_t count)
{
	struct companions set = {.strength = statistics_of(strengths_pa, count)};
	double mean = set.strength.mean, low = mean, high = mean;
	for (size_t i = 0; i < count; i++) {
		low = fmin(low, strengths_pa[i]);
		high = fmax(high, strengths_pa[i]);
	}
	set.range_pa = high - low;
	if (count < 2 || !(mean > 0))
		return set;
	set.range_percent = 100 * set.range_pa / mean;
	set.limit_percent = companions_limit(method, width_um, field, count);
	set.beyond = set.limit_percent > 0 && set.range_percent > set.limit_percent;
	double most = method->apart_max * mean;
	set.apart = most > 0 && (high - mean > most || mean - low > most);
	return set;
}
