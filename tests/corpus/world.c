/* SPDX-License-Identifier: MIT
 *
 * Overlays, resolution, faults.
 */
#include "world.h"

#include <assert.h>
#include <math.h>

static const struct fault *find_fault(
	const struct world *world, enum fault_kind kind, double time_s)
{
	for (size_t i = 0; i < world->fault_count; i++) {
		const struct fault *fault = &world->faults[i];
		if (fault->kind == kind && time_s >= fault->time_s &&
			time_s < fault->time_s + fault->seconds)
			return fault;
	}
	return NULL;
}

/* How much of its hunting a press has at a time. */
static double lull(const struct world *world, double time_s)
{
	if (world->hunting_lull <= 0)
		return 1;
	double wave = sin(M_PI * time_s / world->hunting_lull_s);
	return 1 - world->hunting_lull * wave * wave;
}

static double reading(const struct world *world, const struct drawing *drawing,
	struct random *random, double time_s)
{
	double load = drawing_load(drawing, time_s);
	/* a press swings only what it presses on */
	double pressed =
		load > 0 ? fmin(1, load / (20 * (world->hunting_n + world->ripple_n) + 1)) : 0;
	load += pressed * lull(world, time_s) * world->hunting_n *
		sin(2 * M_PI * world->hunting_hz * time_s);
	load += pressed * world->ripple_n * sin(2 * M_PI * world->ripple_hz * time_s);
	load += world->noise_n * random_normal(random);
	load += world->zero_n + world->zero_drift_n_s * time_s;
	if (world->capacity_n > 0)
		load = fmin(load, world->capacity_n);
	return world->step_n * round(load / world->step_n);
}

/* By how much a spike puts this reading off; 0: it does not. */
static double spike_at(struct world *world, double time_s)
{
	for (size_t i = 0; i < world->fault_count; i++) {
		struct fault *fault = &world->faults[i];
		if (fault->kind != FAULT_SPIKE || time_s < fault->time_s || fault->width == 0)
			continue;
		fault->width--;
		return fault->size_n;
	}
	return 0;
}

/* Readings that arrive in one chunk are stamped together, a tenth of an interval apart. */
static double stamp(const struct world *world, double k, double time_s)
{
	if (world->chunk <= 1)
		return time_s;
	double place = fmod(k, world->chunk), last = world->chunk - 1;
	return time_s + 0.9 * (last - place) / world->hz;
}

void world_record(const struct world *world, const struct drawing *drawing, struct random *random,
	struct record *record)
{
	struct world left = *world; /* spikes are used up */
	double held = 0;
	bool holding = false;
	int64_t last_ns = -1;
	record->count = 0;
	record->largest_un = INT64_MIN;
	for (double k = 0;; k++) {
		double jitter = fmax(-0.45, fmin(0.45, world->jitter * random_normal(random)));
		double time_s = (k + 0.5 + jitter) / world->hz;
		if (time_s >= drawing->end_s || (world->stop_s > 0 && time_s >= world->stop_s))
			break;
		double load = reading(world, drawing, random, time_s);
		if (find_fault(world, FAULT_GAP, time_s) != NULL)
			continue;
		bool stuck = find_fault(world, FAULT_STUCK, time_s) != NULL;
		if (stuck && holding)
			load = held;
		held = load;
		holding = stuck;
		double spike = spike_at(&left, time_s);
		int64_t load_un = llround(load * 1e6);
		bool largest = spike == 0 && load_un > record->largest_un;
		if (largest)
			record->largest_un = load_un;
		load_un += llround(world->step_n * round(spike / world->step_n) * 1e6);
		int64_t time_ns = llround(stamp(world, k, time_s) * 1e9);
		if (time_ns <= last_ns)
			time_ns = last_ns + 1;
		last_ns = time_ns;
		if (largest)
			record->largest_ns = time_ns;
		assert(record->count < WORLD_SAMPLES_MAX);
		bool over = world->capacity_n > 0 && load >= world->capacity_n - world->step_n;
		record->samples[record->count++] =
			(struct sample){{time_ns}, load_un, over ? SAMPLE_OVER_RANGE : 0};
	}
}

double world_seen_hz(const struct world *world, double hz)
{
	return fabs(hz - world->hz * round(hz / world->hz));
}

/* Mean square of what readings at irregular times make of a swing: noise, as far as they have lost
 * its rhythm. */
static double scattered(const struct world *world, double amplitude_n, double hz)
{
	double turn = 2 * M_PI * hz * world->jitter / world->hz;
	return amplitude_n * amplitude_n / 2 * (1 - exp(-turn * turn));
}

double world_slope_error(const struct world *world, double rate_n_s, double window_s)
{
	double points = world->hz * window_s;
	/* a stamp that is off by some time is a load that is off by the rate */
	double stamp_s = 0.26 * (world->chunk - 1) / world->hz;
	double white2 = world->noise_n * world->noise_n + world->step_n * world->step_n / 12 +
			pow(rate_n_s * stamp_s, 2) +
			scattered(world, world->hunting_n, world->hunting_hz) +
			scattered(world, world->ripple_n, world->ripple_hz);
	double steps = fabs(rate_n_s) * window_s / world->step_n;
	double stair = world->step_n / window_s * fmin(0.75, 0.7 / steps) *
		       exp(-2 * pow(M_PI * world->noise_n / world->step_n, 2));
	double swings = 0;
	if (world->hunting_n > 0)
		swings += pow(world->hunting_n / world->hunting_hz, 2);
	if (world->ripple_n > 0)
		swings += pow(world->ripple_n / world_seen_hz(world, world->ripple_hz), 2);
	double swing2 = pow(6 / (M_PI * window_s * window_s), 2) * swings / 2;
	return sqrt(12 * white2 / (points * window_s * window_s) + stair * stair + swing2);
}
