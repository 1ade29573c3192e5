/* SPDX-License-Identifier: MIT
 *
 * What all kinds have in common: the specimen, the method, the press and its cell.
 */
#include "scene.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>

static const char *const methods[] = {"astm-c39", "astm-c39-inch-pound", "en-12390-3"};
static const double rates_hz[] = {10, 20, 50, 100, 200, 500, 1000};
static const double steps_n[] = {1, 10, 20, 50, 100, 200, 500, 1000};
/* A resolution coarser than this part of the maximum is no press for this specimen: ASTM E4 wants
 * 200 steps below the lowest load reported. */
static const double step_share_max = 1.0 / 200;

static void draw_specimen(struct scene *scene)
{
	struct random *random = &scene->random;
	static const int diameters_mm[] = {50, 75, 100, 150};
	static const int sides_mm[] = {100, 150};
	struct specimen *specimen = &scene->specimen;
	*specimen = (struct specimen){.id = "corpus", .shape = SHAPE_CYLINDER};
	bool european = scene->method->chosen_default > 0;
	int64_t width_um = diameters_mm[random_pick(random, 4)] * UNITS_UM_PER_MM;
	if (european && random_pick(random, 2) == 0) {
		specimen->shape = SHAPE_CUBE;
		width_um = sides_mm[random_pick(random, 2)] * UNITS_UM_PER_MM;
	}
	width_um += random_pick(random, 9) * 250 - 1000;
	specimen->width_um[0] = specimen->width_um[1] = width_um;
	specimen->length_um = specimen->shape == SHAPE_CUBE ? width_um : 2 * width_um;
	if (european)
		specimen->chosen_rate_pa_s = random_between(random, 0.4e6, 0.8e6);
}

/* A regulator that hunts, in bursts or evenly: a 2 s slope swings by up to 40 %. */
static void draw_hunting(struct scene *scene)
{
	struct random *random = &scene->random;
	struct world *world = &scene->world;
	world->hunting_hz = random_between(random, 0.5, 2.5);
	double swing = random_between(random, 0.05, 0.4) * scene->rate_n_s;
	world->hunting_n = swing * M_PI * world->hunting_hz * 4 / 6;
	world->hunting_n = fmin(world->hunting_n, 0.02 * scene->maximum_n);
	world->hunting_lull = fmax(0, random_between(random, -0.6, 0.6));
	world->hunting_lull_s = random_between(random, 5, 30);
}

/* A pump that pulses by more than the ramp between two samples. A ripple that is sampled too slowly
 * looks like a slower one; what looks slower than any hunting is a change of rate to anybody. */
static void draw_ripple(struct scene *scene)
{
	struct random *random = &scene->random;
	struct world *world = &scene->world;
	do {
		world->ripple_hz = random_between(random, 9, 25);
	} while (world_seen_hz(world, world->ripple_hz) < 0.5);
	world->ripple_n = scene->rate_n_s * random_between(random, 1, 4) / world->hz +
			  0.0005 * scene->maximum_n;
}

static void draw_world(struct scene *scene)
{
	struct random *random = &scene->random;
	struct world *world = &scene->world;
	*world = (struct world){.hz = rates_hz[random_pick(random, 7)]};
	do {
		world->step_n = steps_n[random_pick(random, 8)];
	} while (world->step_n > step_share_max * scene->maximum_n);
	world->noise_n = random_scale(random, 0.1, 1) * fmax(world->step_n, 5);
	world->noise_n = fmin(world->noise_n, 0.002 * scene->maximum_n);
	world->jitter = random_pick(random, 3) == 0 ? random_between(random, 0, 0.2) : 0;
	world->chunk = random_pick(random, 4) == 0 ? 2 + random_pick(random, 4) : 1;
	int press = random_pick(random, 4);
	scene->press = press < 2 ? PRESS_QUIET : press == 2 ? PRESS_HUNTING : PRESS_RIPPLE;
	if (scene->press == PRESS_HUNTING)
		draw_hunting(scene);
	if (scene->press == PRESS_RIPPLE)
		draw_ripple(scene);
}

void scene_init(struct scene *scene, uint64_t seed)
{
	*scene = (struct scene){.random = {seed}, .end = END_BROKEN};
	struct random *random = &scene->random;
	scene->method = method_find(methods[random_pick(random, 3)]);
	draw_specimen(scene);
	struct message why;
	bool good = method_plan(scene->method, &scene->specimen, &scene->plan, &why);
	assert(good);
	scene->area_m2 = scene->plan.area_m2;
	double unit = scene->plan.rate_unit_pa * scene->area_m2;
	scene->low_n_s = scene->plan.band_low * unit;
	scene->high_n_s = scene->plan.band_high * unit;
	scene->rate_n_s = (scene->low_n_s + scene->high_n_s) / 2;
	scene->maximum_n = random_scale(random, 5e6, 120e6) * scene->area_m2;
	draw_world(scene);
	drawing_init(&scene->drawing);
}

void scene_contact(struct scene *scene)
{
	const struct world *world = &scene->world;
	double contact = fmax(0.005 * scene->maximum_n, 6 * world->noise_n);
	contact = fmax(contact, 4 * world->step_n);
	contact = fmax(contact, 1.5 * fabs(world->zero_n));
	scene->plan.contact_un = llround(contact * 1e6);
	if (scene->plan.anticipated_load_un == 0)
		scene->plan.alignment_un = llround(0.1 * scene->maximum_n * 1e6);
}
