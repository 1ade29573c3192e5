/* SPDX-License-Identifier: MIT
 *
 * What the readings did to a good run.
 */
#include "kinds.h"
#include "pieces.h"

#include <math.h>

static void add_fault(struct scene *scene, struct fault fault)
{
	scene->world.faults[scene->world.fault_count++] = fault;
}

static double risen_at(struct scene *scene, double low, double high)
{
	return drawing_reach(&scene->drawing, pieces_between(scene, low, high) * scene->maximum_n);
}

void kinds_spikes(struct scene *scene)
{
	kinds_good(scene);
	int count = 1 + random_pick(&scene->random, 4);
	double share = 0.8 / count; /* each in its own part of the run: two together are a hump */
	for (int i = 0; i < count; i++) {
		double size = scene->maximum_n * pieces_between(scene, 0.05, 1.5);
		double low = 0.15 + share * i;
		add_fault(scene, (struct fault){.kind = FAULT_SPIKE,
					 .time_s = risen_at(scene, low, low + 0.9 * share),
					 .width = 1 + random_pick(&scene->random, 2),
					 .size_n = pieces_chance(scene, 0.6) ? size : -size});
	}
	scene->must |= PIECES_EVENT(EVENT_SPIKE);
}

void kinds_spike_at_top(struct scene *scene)
{
	double rate = pieces_good_rate(scene);
	pieces_seat(scene, 0.1, rate);
	pieces_up_to(scene, 1, rate);
	add_fault(scene, (struct fault){.kind = FAULT_SPIKE,
				 .time_s = scene->drawing.end_s - 1.01 / scene->world.hz,
				 .width = 1,
				 .size_n = scene->maximum_n * pieces_between(scene, 0.05, 0.5)});
	scene->world.jitter = 0;
	scene->must |= PIECES_EVENT(EVENT_SPIKE);
	pieces_explode(scene);
}

void kinds_stuck(struct scene *scene)
{
	kinds_good(scene);
	add_fault(scene, (struct fault){.kind = FAULT_STUCK,
				 .time_s = risen_at(scene, 0.2, 0.8),
				 .seconds = pieces_between(scene, 0.3, 4)});
	const struct world *world = &scene->world;
	double rise = scene->rate_n_s * world->faults[0].seconds;
	double swing = world->noise_n + 0.75 * (world->hunting_n + world->ripple_n);
	if (rise < 6 * world->step_n || rise < 10 * swing) {
		scene->lost = true; /* nothing tells it from a slow rate */
		scene->may |= PIECES_EVENT(EVENT_STALL) | PIECES_EVENT(EVENT_SHOCK);
	}
	scene->may |= PIECES_EVENT(EVENT_STUCK);
	scene->gap = true;
}

/* Anywhere from first load to last. */
void kinds_gap(struct scene *scene)
{
	kinds_good(scene);
	double maximum_s = 0;
	double maximum = drawing_maximum(&scene->drawing, scene->loaded_until_s, &maximum_s);
	double from_s = drawing_reach(&scene->drawing, 0.05 * maximum);
	add_fault(scene, (struct fault){.kind = FAULT_GAP,
				 .time_s = pieces_between(scene, from_s, scene->loaded_until_s),
				 .seconds = pieces_between(scene, 0.2, 10)});
	scene->may |= PIECES_EVENT(EVENT_GAP);
	const struct fault *fault = &scene->world.faults[0];
	double reading_s = scene->world.chunk / scene->world.hz;
	double until_s = fault->time_s + fault->seconds;
	bool before = fault->time_s < maximum_s + 2 * reading_s;
	scene->lost = before && until_s > drawing_reach(&scene->drawing, 0.9 * maximum);
	scene->either_end = until_s >= maximum_s; /* the fall may be hidden */
	/* and with it whether the load went on: nobody knows the maximum then */
	scene->hidden =
		scene->either_end && drawing_load(&scene->drawing, fault->time_s) > 0.9 * maximum;
	scene->gap = before;
	if (!scene->either_end && fault->seconds > 8 * reading_s)
		scene->must |= PIECES_EVENT(EVENT_GAP);
}

void kinds_zero_offset(struct scene *scene)
{
	kinds_good(scene);
	double size = scene->maximum_n * pieces_between(scene, 0.004, 0.02);
	scene->world.zero_n = pieces_chance(scene, 0.5) ? size : -size;
	scene->may |= PIECES_EVENT(EVENT_ZERO_OFFSET);
	if (size > 1.5 * scene->world.step_n) /* one step off is what a step is */
		scene->must |= PIECES_EVENT(EVENT_ZERO_OFFSET);
}

void kinds_zero_drift(struct scene *scene)
{
	kinds_good(scene);
	scene->world.zero_drift_n_s = scene->maximum_n * pieces_between(scene, -0.0001, 0.0001);
	scene->may |= PIECES_EVENT(EVENT_ZERO_OFFSET);
}

void kinds_saturation(struct scene *scene)
{
	kinds_good(scene);
	scene->world.capacity_n = scene->maximum_n * pieces_between(scene, 0.5, 0.95);
	scene->must |= PIECES_EVENT(EVENT_OVER_RANGE);
	scene->may |= PIECES_EVENT(EVENT_STALL) | PIECES_EVENT(EVENT_STUCK);
	scene->either_end = true;
	scene->unknowable = true;
}

void kinds_stops(struct scene *scene)
{
	kinds_good(scene);
	scene->world.stop_s = risen_at(scene, 0.3, 0.95);
	scene->end = END_INTERRUPTED;
	scene->unknowable = true;
}
