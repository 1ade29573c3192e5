/* SPDX-License-Identifier: MIT
 *
 * Typical runs for the documents: one press, one cylinder, one thing that happens.
 */
#include "examples.h"

#include "pieces.h"

#include <assert.h>
#include <math.h>
#include <stddef.h>
#include <string.h>

/* A cylinder of 100 by 200 mm, expected to carry 30 MPa and carrying 31.2. */
static const double anticipated_pa = 30e6, strength_pa = 31.2e6;
/* ASTM C39's middle, and how much faster the first half went. */
static const double rate_pa_s = 0.25e6, first_half = 1.6;

static double rate(const struct scene *scene)
{
	return rate_pa_s * scene->area_m2;
}

/* Idle, a soft toe, and up to where the band begins, a little before it slowed down. */
static void first(struct scene *scene)
{
	pieces_seat(scene, 0.46, first_half * rate(scene));
}

static void steady(struct scene *scene)
{
	first(scene);
	pieces_up_to(scene, 1, rate(scene));
	pieces_brittle(scene);
}

static void out_of_band(struct scene *scene)
{
	first(scene);
	pieces_up_to(scene, 0.62, rate(scene));
	drawing_run(&scene->drawing, 8, 1.5 * rate(scene));
	pieces_up_to(scene, 1, rate(scene));
	pieces_brittle(scene);
}

static void hunting(struct scene *scene)
{
	scene->world.hunting_hz = 0.9;
	scene->world.hunting_n = 0.4 * rate(scene) * M_PI * 0.9 * 4 / 6;
	steady(scene);
}

static void explosive(struct scene *scene)
{
	first(scene);
	pieces_up_to(scene, 1, rate(scene));
	pieces_explode(scene);
}

static void ductile(struct scene *scene)
{
	first(scene);
	pieces_up_to(scene, 0.93, rate(scene));
	drawing_round(&scene->drawing, scene->maximum_n, rate(scene));
	pieces_decline(scene);
}

static void drop_and_recovery(struct scene *scene)
{
	first(scene);
	pieces_up_to(scene, 0.7, rate(scene));
	drawing_to(&scene->drawing, 0.63 * scene->maximum_n, scene->maximum_n);
	pieces_up_to(scene, 1, rate(scene));
	pieces_brittle(scene);
}

static void yielding(struct scene *scene)
{
	first(scene);
	pieces_up_to(scene, 0.74, rate(scene));
	drawing_round(&scene->drawing, scene->maximum_n, rate(scene));
	pieces_decline(scene);
}

static void undetermined(struct scene *scene)
{
	steady(scene);
	struct fault gap = {.kind = FAULT_GAP, .seconds = 7.5};
	gap.time_s = drawing_reach(&scene->drawing, 0.68 * scene->maximum_n);
	scene->world.faults[scene->world.fault_count++] = gap;
}

static const struct kind table[] = {
	{"steady", steady},
	{"out-of-band", out_of_band},
	{"hunting", hunting},
	{"explosive", explosive},
	{"ductile", ductile},
	{"drop-and-recovery", drop_and_recovery},
	{"yielding", yielding},
	{"undetermined", undetermined},
	{NULL, NULL},
};

bool examples_draw(struct scene *scene, const char *name)
{
	const struct kind *kind = table;
	while (kind->name != NULL && strcmp(kind->name, name) != 0)
		kind++;
	if (kind->name == NULL)
		return false;
	*scene = (struct scene){
		.random = {1},
		.method = method_find("astm-c39"),
		.world = {.hz = 50, .noise_n = 25, .step_n = 10},
		.specimen = {.shape = SHAPE_CYLINDER,
			.width_um = {100000, 100000},
			.length_um = 200000,
			.anticipated_pa = anticipated_pa},
	};
	struct message why;
	bool planned = method_plan(scene->method, &scene->specimen, &scene->plan, &why);
	assert(planned);
	scene->area_m2 = scene->plan.area_m2;
	scene->maximum_n = strength_pa * scene->area_m2;
	drawing_init(&scene->drawing);
	kind->draw(scene);
	return true;
}
