/* SPDX-License-Identifier: MIT
 *
 * Toes, ramps and ends.
 */
#include "pieces.h"

#include <math.h>

double pieces_between(struct scene *scene, double low, double high)
{
	return random_between(&scene->random, low, high);
}

bool pieces_chance(struct scene *scene, double probability)
{
	return pieces_between(scene, 0, 1) < probability;
}

void pieces_idle(struct scene *scene)
{
	drawing_run(&scene->drawing, pieces_between(scene, 0.8, 2), 0);
}

/* A soft toe, then up to a part of the maximum. */
void pieces_seat(struct scene *scene, double part, double rate_n_s)
{
	struct drawing *drawing = &scene->drawing;
	pieces_idle(scene);
	double toe_s = pieces_between(scene, 0.5, 3);
	toe_s = fmin(toe_s, part * scene->maximum_n / rate_n_s);
	drawing_bend(drawing, toe_s, 0.2 * rate_n_s, rate_n_s);
	drawing_to(drawing, part * scene->maximum_n, rate_n_s);
}

void pieces_up_to(struct scene *scene, double part, double rate_n_s)
{
	drawing_to(&scene->drawing, part * scene->maximum_n, rate_n_s);
}

static void loaded(struct scene *scene)
{
	scene->loaded_until_s = scene->drawing.end_s;
}

void pieces_after(struct scene *scene)
{
	loaded(scene);
	drawing_run(&scene->drawing, pieces_between(scene, 0.8, 2), 0);
}

/* Within one reading. */
void pieces_explode(struct scene *scene)
{
	drawing_jump(&scene->drawing, 0);
	pieces_after(scene);
}

void pieces_brittle(struct scene *scene)
{
	drawing_to(&scene->drawing, pieces_between(scene, 0, 0.05) * scene->drawing.load_n,
		scene->drawing.load_n / pieces_between(scene, 0.05, 0.4));
	drawing_jump(&scene->drawing, 0);
	pieces_after(scene);
}

/* A slow decline of a specimen that has yielded; then it is taken off. */
void pieces_decline(struct scene *scene)
{
	struct drawing *drawing = &scene->drawing;
	double top = drawing->load_n, fall = top * pieces_between(scene, 0.005, 0.08);
	double least = top * pieces_between(scene, 0.5, 0.9);
	drawing_bend(drawing, 0.05 * top / fall, 0, -fall);
	if (drawing->load_n > least)
		drawing_to(drawing, least, fall);
	drawing_to(drawing, 0, top * pieces_between(scene, 0.1, 0.5));
	pieces_after(scene);
}

/* Any end that follows a sharp top. */
void pieces_snap(struct scene *scene)
{
	if (pieces_chance(scene, 0.4))
		pieces_explode(scene);
	else
		pieces_brittle(scene);
}

/* From the present load on at a rate, rounded off from a part of the maximum on, then broken. */
void pieces_finish(struct scene *scene, double rate_n_s)
{
	if (pieces_chance(scene, 0.5)) {
		pieces_up_to(scene, 1, rate_n_s);
		pieces_snap(scene);
		return;
	}
	double round_from = pieces_between(scene, 0.91, 0.97);
	if (scene->drawing.load_n < round_from * scene->maximum_n)
		pieces_up_to(scene, round_from, rate_n_s);
	drawing_round(&scene->drawing, scene->maximum_n, rate_n_s);
	if (pieces_chance(scene, 0.5))
		pieces_decline(scene);
	else
		pieces_snap(scene);
}

void pieces_anticipate(struct scene *scene, double load_n)
{
	scene->plan.anticipated_load_un = llround(load_n * 1e6);
}

void pieces_maybe_anticipate(struct scene *scene)
{
	if (pieces_chance(scene, 0.5))
		pieces_anticipate(scene, scene->maximum_n * pieces_between(scene, 0.8, 1.2));
}

/* What a press that swings by as much itself may hide. */
bool pieces_expect(struct scene *scene, enum event_kind kind, double size_n)
{
	const struct world *world = &scene->world;
	double swing = 0.75 * (world->hunting_n + world->ripple_n) + world->noise_n;
	double ramp = 4 * scene->rate_n_s / world->hz * world->chunk;
	bool plain = size_n > 12 * swing && size_n > 6 * world->step_n && size_n > ramp;
	scene->may |= PIECES_EVENT(kind);
	scene->must |= plain ? PIECES_EVENT(kind) : 0;
	return plain;
}

double pieces_half(const struct scene *scene)
{
	return scene->plan.span_from;
}

/* A rate well inside the band. */
double pieces_good_rate(struct scene *scene)
{
	return scene->rate_n_s +
	       pieces_between(scene, -0.4, 0.4) * (scene->high_n_s - scene->rate_n_s);
}

/* Some part of the maximum within the judged span. */
double pieces_inside(struct scene *scene, double high)
{
	return pieces_between(scene, pieces_half(scene) + 0.05, high);
}
