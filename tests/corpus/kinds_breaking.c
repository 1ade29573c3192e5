/* SPDX-License-Identifier: MIT
 *
 * How the specimen broke, or did not.
 */
#include "kinds.h"
#include "pieces.h"

#include <math.h>

/* A good run up to its maximum; the top is sharp. */
static void rise(struct scene *scene)
{
	double rate = pieces_good_rate(scene);
	pieces_maybe_anticipate(scene);
	pieces_seat(scene, 0.1, rate);
	pieces_up_to(scene, 1, rate);
}

void kinds_explosive(struct scene *scene)
{
	rise(scene);
	pieces_explode(scene);
}

void kinds_brittle(struct scene *scene)
{
	rise(scene);
	pieces_brittle(scene);
}

void kinds_ductile(struct scene *scene)
{
	double rate = pieces_good_rate(scene);
	pieces_maybe_anticipate(scene);
	pieces_seat(scene, 0.1, rate);
	pieces_up_to(scene, pieces_between(scene, 0.91, 0.97), rate);
	drawing_round(&scene->drawing, scene->maximum_n, rate);
	pieces_decline(scene);
}

static void let_go(struct scene *scene, double part)
{
	drawing_to(&scene->drawing, scene->drawing.load_n * (1 - part),
		scene->drawing.load_n / pieces_between(scene, 0.05, 0.3));
	double lost_n = scene->drawing.load_n * part / (1 - part);
	unsigned had = scene->must;
	/* the ramp makes some of it good before the next reading */
	double seen_n = lost_n - 2 * scene->rate_n_s / scene->world.hz * scene->world.chunk;
	bool plain = pieces_expect(scene, EVENT_DROP, lost_n);
	if (plain && seen_n > 0.018 * (scene->drawing.load_n + lost_n)) {
		scene->stop_s = scene->drawing.end_s;
		return;
	}
	scene->must &= had;
	scene->perhaps_s = scene->drawing.end_s;
	scene->may |= PIECES_EVENT(EVENT_STALL) | PIECES_EVENT(EVENT_SHOCK);
}

/* The old maximum is passed again. */
static void recovered(struct scene *scene)
{
	unsigned drop = scene->must & PIECES_EVENT(EVENT_DROP);
	scene->must |= drop != 0 ? PIECES_EVENT(EVENT_RECOVERY) : 0;
	scene->may |= PIECES_EVENT(EVENT_RECOVERY);
}

void kinds_corner(struct scene *scene)
{
	double rate = pieces_good_rate(scene);
	pieces_seat(scene, 0.1, rate);
	pieces_up_to(scene, pieces_inside(scene, 0.85), rate);
	let_go(scene, pieces_between(scene, 0.02, 0.2));
	recovered(scene);
	pieces_finish(scene, rate);
}

void kinds_corners(struct scene *scene)
{
	double rate = pieces_good_rate(scene);
	pieces_seat(scene, 0.1, rate);
	pieces_up_to(scene, pieces_inside(scene, 0.7), rate);
	let_go(scene, pieces_between(scene, 0.02, 0.1));
	pieces_up_to(scene, pieces_between(scene, 0.75, 0.85), rate);
	let_go(scene, pieces_between(scene, 0.02, 0.1));
	recovered(scene);
	pieces_finish(scene, rate);
}

void kinds_corner_at_top(struct scene *scene)
{
	double rate = pieces_good_rate(scene);
	pieces_seat(scene, 0.1, rate);
	pieces_up_to(scene, 1, rate);
	let_go(scene, pieces_between(scene, 0.02, 0.2));
	pieces_up_to(scene, pieces_between(scene, 0.985, 0.995), rate);
	const struct world *world = &scene->world;
	double swing = 2 * (world->hunting_n + world->ripple_n) + 6 * world->noise_n;
	if (scene->drawing.load_n + swing + world->step_n > scene->maximum_n)
		scene->may |= PIECES_EVENT(EVENT_RECOVERY); /* a swing passes the old maximum */
	pieces_snap(scene);
}

void kinds_reload(struct scene *scene)
{
	double rate = pieces_good_rate(scene);
	pieces_seat(scene, 0.1, rate);
	pieces_up_to(scene, 1, rate);
	pieces_up_to(scene, pieces_between(scene, 0.1, 0.3),
		scene->maximum_n / pieces_between(scene, 0.1, 0.4));
	pieces_up_to(scene, pieces_between(scene, 0.35, 0.6), rate);
	drawing_to(&scene->drawing, 0, scene->maximum_n);
	pieces_after(scene);
}

void kinds_let_off(struct scene *scene)
{
	double rate = pieces_good_rate(scene);
	pieces_anticipate(scene, scene->maximum_n * pieces_between(scene, 1.1, 2));
	pieces_seat(scene, 0.1, rate);
	pieces_up_to(scene, 1, rate);
	if (pieces_chance(scene, 0.4))
		drawing_run(&scene->drawing, pieces_between(scene, 2, 20), 0);
	drawing_to(&scene->drawing, 0, scene->maximum_n / pieces_between(scene, 2, 20));
	pieces_after(scene);
	scene->end = END_UNLOADED;
}

void kinds_let_off_after(struct scene *scene)
{
	double rate = pieces_good_rate(scene);
	pieces_seat(scene, 0.1, rate);
	pieces_up_to(scene, pieces_between(scene, 0.9, 0.95), rate);
	drawing_round(&scene->drawing, scene->maximum_n, rate);
	drawing_bend(&scene->drawing, pieces_between(scene, 1, 4), 0, -0.02 * scene->maximum_n);
	drawing_to(&scene->drawing, 0, scene->maximum_n / pieces_between(scene, 2, 10));
	pieces_after(scene);
	scene->either_end = true; /* it fell by less than 5 % of itself before the valve opened */
}

void kinds_alignment(struct scene *scene)
{
	struct drawing *drawing = &scene->drawing;
	double rate = pieces_good_rate(scene);
	if (pieces_chance(scene, 0.7))
		pieces_anticipate(scene, scene->maximum_n * pieces_between(scene, 0.9, 1.1));
	pieces_idle(scene);
	drawing_to(drawing, pieces_between(scene, 0.03, 0.08) * scene->maximum_n, rate);
	drawing_run(drawing, pieces_between(scene, 2, 10), 0);
	drawing_to(drawing, 0, pieces_between(scene, 1, 4) * rate);
	drawing_run(drawing, pieces_between(scene, 2, 20), 0);
	scene->must |= PIECES_EVENT(EVENT_ALIGNMENT_CHECK);
	drawing_to(drawing, 0.2 * scene->maximum_n, rate);
	pieces_finish(scene, rate);
}
