/* SPDX-License-Identifier: MIT
 *
 * The kinds of run that a press can draw, each with what is true of it.
 */
#include "scene.h"

#include <math.h>

#define EVENT(kind) (1u << (kind))

static double between(struct scene *scene, double low, double high)
{
	return random_between(&scene->random, low, high);
}

static bool chance(struct scene *scene, double probability)
{
	return between(scene, 0, 1) < probability;
}

/* ---- pieces that many kinds share */

static void idle(struct scene *scene)
{
	drawing_run(&scene->drawing, between(scene, 0.8, 2), 0);
}

/* A soft toe, then up to a part of the maximum. */
static void seat(struct scene *scene, double part, double rate_n_s)
{
	struct drawing *drawing = &scene->drawing;
	idle(scene);
	double toe_s = between(scene, 0.5, 3);
	toe_s = fmin(toe_s, part * scene->maximum_n / rate_n_s);
	drawing_bend(drawing, toe_s, 0.2 * rate_n_s, rate_n_s);
	drawing_to(drawing, part * scene->maximum_n, rate_n_s);
}

static void up_to(struct scene *scene, double part, double rate_n_s)
{
	drawing_to(&scene->drawing, part * scene->maximum_n, rate_n_s);
}

static void loaded(struct scene *scene)
{
	scene->loaded_until_s = scene->drawing.end_s;
}

static void after(struct scene *scene)
{
	loaded(scene);
	drawing_run(&scene->drawing, between(scene, 0.8, 2), 0);
}

/* Within one reading. */
static void explode(struct scene *scene)
{
	drawing_jump(&scene->drawing, 0);
	after(scene);
}

static void brittle(struct scene *scene)
{
	drawing_to(&scene->drawing, between(scene, 0, 0.05) * scene->drawing.load_n,
		scene->drawing.load_n / between(scene, 0.05, 0.4));
	drawing_jump(&scene->drawing, 0);
	after(scene);
}

/* A slow decline of a specimen that has yielded; then it is taken off. */
static void decline(struct scene *scene)
{
	struct drawing *drawing = &scene->drawing;
	double top = drawing->load_n, fall = top * between(scene, 0.005, 0.08);
	double least = top * between(scene, 0.5, 0.9);
	drawing_bend(drawing, 0.05 * top / fall, 0, -fall);
	if (drawing->load_n > least)
		drawing_to(drawing, least, fall);
	drawing_to(drawing, 0, top * between(scene, 0.1, 0.5));
	after(scene);
}

/* Any end that follows a sharp top. */
static void snap(struct scene *scene)
{
	if (chance(scene, 0.4))
		explode(scene);
	else
		brittle(scene);
}

/* From the present load on at a rate, rounded off from a part of the maximum on, then broken. */
static void finish(struct scene *scene, double rate_n_s)
{
	if (chance(scene, 0.5)) {
		up_to(scene, 1, rate_n_s);
		snap(scene);
		return;
	}
	double round_from = between(scene, 0.91, 0.97);
	if (scene->drawing.load_n < round_from * scene->maximum_n)
		up_to(scene, round_from, rate_n_s);
	drawing_round(&scene->drawing, scene->maximum_n, rate_n_s);
	if (chance(scene, 0.5))
		decline(scene);
	else
		snap(scene);
}

static void anticipate(struct scene *scene, double load_n)
{
	scene->plan.anticipated_load_un = llround(load_n * 1e6);
}

static void maybe_anticipate(struct scene *scene)
{
	if (chance(scene, 0.5))
		anticipate(scene, scene->maximum_n * between(scene, 0.8, 1.2));
}

/* What a press that swings by as much itself may hide. */
static void expect(struct scene *scene, enum event_kind kind, double size_n)
{
	const struct world *world = &scene->world;
	double swing = 0.75 * (world->hunting_n + world->ripple_n) + world->noise_n;
	double ramp = 4 * scene->rate_n_s / world->hz * world->chunk;
	bool plain = size_n > 12 * swing && size_n > 6 * world->step_n && size_n > ramp;
	scene->may |= EVENT(kind);
	scene->must |= plain ? EVENT(kind) : 0;
}

static double half(const struct scene *scene)
{
	return scene->plan.span_from;
}

/* A rate well inside the band. */
static double good_rate(struct scene *scene)
{
	return scene->rate_n_s + between(scene, -0.4, 0.4) * (scene->high_n_s - scene->rate_n_s);
}

/* Some part of the maximum within the judged span. */
static double inside(struct scene *scene, double high)
{
	return between(scene, half(scene) + 0.05, high);
}

/* ---- the kinds */

static void steady(struct scene *scene)
{
	maybe_anticipate(scene);
	double rate = between(scene, 0.7 * scene->low_n_s, 1.3 * scene->high_n_s);
	seat(scene, 0.1, rate);
	finish(scene, rate);
}

static void good(struct scene *scene)
{
	maybe_anticipate(scene);
	double rate = good_rate(scene);
	seat(scene, 0.1, rate);
	finish(scene, rate);
}

static void change_near_half(struct scene *scene)
{
	double rate = good_rate(scene);
	double at = half(scene) + between(scene, -0.08, 0.08);
	anticipate(scene, scene->maximum_n);
	seat(scene, at, rate * between(scene, 1.3, 4));
	finish(scene, rate);
}

static void change_at_half(struct scene *scene)
{
	double rate = good_rate(scene);
	anticipate(scene, scene->maximum_n);
	seat(scene, half(scene), rate * between(scene, 1.3, 4));
	finish(scene, rate);
}

static void excursion(struct scene *scene)
{
	double rate = good_rate(scene);
	double window_s = (double)scene->plan.window_ns * 1e-9;
	double seconds = window_s * between(scene, 0.5, 1.5);
	double other = chance(scene, 0.5) ? rate * between(scene, 1.2, 2.5)
					  : rate * between(scene, 0.1, 0.8);
	anticipate(scene, scene->maximum_n);
	seat(scene, 0.1, rate);
	up_to(scene, inside(scene, 0.8), rate);
	scene->warned_from_s = scene->drawing.end_s;
	scene->warned_rate = other / rate;
	drawing_run(&scene->drawing, seconds, other);
	if (other < 0.35 * rate)
		scene->may |= EVENT(EVENT_STALL);
	if (scene->drawing.load_n > 0.97 * scene->maximum_n)
		scene->maximum_n = scene->drawing.load_n / 0.97;
	finish(scene, rate);
}

static void creep(struct scene *scene)
{
	double from = good_rate(scene), to = from * between(scene, 0.5, 1.6);
	seat(scene, 0.2, from);
	double way = 0.77 * scene->maximum_n;
	drawing_bend(&scene->drawing, way / ((from + to) / 2), from, to);
	up_to(scene, 1, to);
	snap(scene);
}

static void stall(struct scene *scene)
{
	double rate = good_rate(scene), seconds = between(scene, 0.5, 8);
	maybe_anticipate(scene);
	seat(scene, 0.1, rate);
	up_to(scene, inside(scene, 0.85), rate);
	drawing_run(&scene->drawing, seconds, 0);
	scene->may |= EVENT(EVENT_STALL);
	if (seconds > 3 && scene->world.hunting_n == 0)
		scene->must |= EVENT(EVENT_STALL);
	scene->stop_s = seconds > 3 ? scene->drawing.end_s - seconds / 2 : 0;
	finish(scene, rate);
}

static void shock(struct scene *scene)
{
	double rate = good_rate(scene);
	seat(scene, 0.1, rate);
	up_to(scene, inside(scene, 0.8), rate);
	double step = scene->drawing.load_n * between(scene, 0.03, 0.1);
	drawing_jump(&scene->drawing, scene->drawing.load_n + step);
	expect(scene, EVENT_SHOCK, step);
	finish(scene, rate);
}

static void roll_off_late(struct scene *scene)
{
	double rate = good_rate(scene);
	maybe_anticipate(scene);
	seat(scene, 0.1, rate);
	up_to(scene, between(scene, 0.9, 0.93), rate);
	drawing_round(&scene->drawing, scene->maximum_n, rate);
	if (chance(scene, 0.5))
		decline(scene);
	else
		snap(scene);
}

static void roll_off_early(struct scene *scene)
{
	double rate = good_rate(scene);
	seat(scene, 0.1, rate);
	up_to(scene, between(scene, 0.7, 0.85), rate);
	drawing_round(&scene->drawing, scene->maximum_n, rate);
	decline(scene);
}

static void weak(struct scene *scene)
{
	double rate = good_rate(scene), part = between(scene, 0.55, 0.85);
	anticipate(scene, scene->maximum_n * part / half(scene));
	seat(scene, part, rate * between(scene, 1.3, 3));
	finish(scene, rate);
}

static void strong(struct scene *scene)
{
	double rate = good_rate(scene), part = between(scene, 0.5, 0.9);
	anticipate(scene, scene->maximum_n * part);
	seat(scene, part * half(scene), rate * between(scene, 1, 3));
	finish(scene, rate);
}

static void let_go(struct scene *scene, double part)
{
	drawing_to(&scene->drawing, scene->drawing.load_n * (1 - part),
		scene->drawing.load_n / between(scene, 0.05, 0.3));
	expect(scene, EVENT_DROP, scene->drawing.load_n * part / (1 - part));
	if ((scene->must & EVENT(EVENT_DROP)) != 0)
		scene->stop_s = scene->drawing.end_s;
	else
		scene->may |= EVENT(EVENT_STALL) | EVENT(EVENT_SHOCK);
}

/* The old maximum is passed again. */
static void recovered(struct scene *scene)
{
	unsigned drop = scene->must & EVENT(EVENT_DROP);
	scene->must |= drop != 0 ? EVENT(EVENT_RECOVERY) : 0;
	scene->may |= EVENT(EVENT_RECOVERY);
}

static void corner(struct scene *scene)
{
	double rate = good_rate(scene);
	seat(scene, 0.1, rate);
	up_to(scene, inside(scene, 0.85), rate);
	let_go(scene, between(scene, 0.025, 0.2));
	recovered(scene);
	finish(scene, rate);
}

static void two_corners(struct scene *scene)
{
	double rate = good_rate(scene);
	seat(scene, 0.1, rate);
	up_to(scene, inside(scene, 0.7), rate);
	let_go(scene, between(scene, 0.025, 0.1));
	up_to(scene, between(scene, 0.75, 0.85), rate);
	let_go(scene, between(scene, 0.025, 0.1));
	recovered(scene);
	finish(scene, rate);
}

static void corner_at_top(struct scene *scene)
{
	double rate = good_rate(scene);
	seat(scene, 0.1, rate);
	up_to(scene, 1, rate);
	let_go(scene, between(scene, 0.04, 0.2));
	loaded(scene);
	up_to(scene, between(scene, 0.985, 0.995), rate);
	snap(scene);
}

static void reload_broken(struct scene *scene)
{
	double rate = good_rate(scene);
	seat(scene, 0.1, rate);
	up_to(scene, 1, rate);
	up_to(scene, between(scene, 0.1, 0.3), scene->maximum_n / between(scene, 0.1, 0.4));
	up_to(scene, between(scene, 0.35, 0.6), rate);
	drawing_to(&scene->drawing, 0, scene->maximum_n);
	after(scene);
}

static void let_off(struct scene *scene)
{
	double rate = good_rate(scene);
	anticipate(scene, scene->maximum_n * between(scene, 1.1, 2));
	seat(scene, 0.1, rate);
	up_to(scene, 1, rate);
	if (chance(scene, 0.4))
		drawing_run(&scene->drawing, between(scene, 2, 20), 0);
	drawing_to(&scene->drawing, 0, scene->maximum_n / between(scene, 2, 20));
	after(scene);
	scene->end = END_UNLOADED;
}

static void let_off_after_maximum(struct scene *scene)
{
	double rate = good_rate(scene);
	seat(scene, 0.1, rate);
	up_to(scene, between(scene, 0.9, 0.95), rate);
	drawing_round(&scene->drawing, scene->maximum_n, rate);
	drawing_bend(&scene->drawing, between(scene, 1, 4), 0, -0.02 * scene->maximum_n);
	drawing_to(&scene->drawing, 0, scene->maximum_n / between(scene, 2, 10));
	after(scene);
	scene->either_end = true; /* it fell by less than 5 % of itself before the valve opened */
}

static void alignment(struct scene *scene)
{
	struct drawing *drawing = &scene->drawing;
	double rate = good_rate(scene);
	if (chance(scene, 0.7))
		anticipate(scene, scene->maximum_n * between(scene, 0.9, 1.1));
	idle(scene);
	drawing_to(drawing, between(scene, 0.03, 0.08) * scene->maximum_n, rate);
	drawing_run(drawing, between(scene, 2, 10), 0);
	drawing_to(drawing, 0, between(scene, 1, 4) * rate);
	drawing_run(drawing, between(scene, 2, 20), 0);
	scene->must |= EVENT(EVENT_ALIGNMENT_CHECK);
	drawing_to(drawing, 0.2 * scene->maximum_n, rate);
	finish(scene, rate);
}

static void add_fault(struct scene *scene, struct fault fault)
{
	scene->world.faults[scene->world.fault_count++] = fault;
}

static double risen_at(struct scene *scene, double low, double high)
{
	return drawing_reach(&scene->drawing, between(scene, low, high) * scene->maximum_n);
}

static void spikes(struct scene *scene)
{
	good(scene);
	int count = 1 + random_pick(&scene->random, 4);
	for (int i = 0; i < count; i++) {
		double size = scene->maximum_n * between(scene, 0.05, 1.5);
		add_fault(scene, (struct fault){.kind = FAULT_SPIKE,
					 .time_s = risen_at(scene, 0.15, 0.97),
					 .width = 1 + random_pick(&scene->random, 2),
					 .size_n = chance(scene, 0.6) ? size : -size});
	}
	scene->must |= EVENT(EVENT_SPIKE);
}

static void spike_at_top(struct scene *scene)
{
	double rate = good_rate(scene);
	seat(scene, 0.1, rate);
	up_to(scene, 1, rate);
	add_fault(scene, (struct fault){.kind = FAULT_SPIKE,
				 .time_s = scene->drawing.end_s - 1.01 / scene->world.hz,
				 .width = 1,
				 .size_n = scene->maximum_n * between(scene, 0.05, 0.5)});
	scene->world.jitter = 0;
	scene->must |= EVENT(EVENT_SPIKE);
	explode(scene);
}

static void stuck(struct scene *scene)
{
	good(scene);
	add_fault(scene, (struct fault){.kind = FAULT_STUCK,
				 .time_s = risen_at(scene, 0.2, 0.8),
				 .seconds = between(scene, 0.3, 4)});
	const struct world *world = &scene->world;
	double rise = scene->rate_n_s * world->faults[0].seconds;
	double swing = world->noise_n + 0.75 * (world->hunting_n + world->ripple_n);
	if (rise < 6 * world->step_n || rise < 10 * swing) {
		scene->lost = true; /* nothing tells it from a slow rate */
		scene->may |= EVENT(EVENT_STALL) | EVENT(EVENT_SHOCK);
	}
	scene->may |= EVENT(EVENT_STUCK);
	scene->gap = true;
}

static void gap(struct scene *scene)
{
	good(scene);
	add_fault(scene, (struct fault){.kind = FAULT_GAP,
				 .time_s = risen_at(scene, 0.2, 0.8),
				 .seconds = between(scene, 0.2, 10)});
	scene->may |= EVENT(EVENT_GAP);
	const struct fault *fault = &scene->world.faults[0];
	if (fault->time_s + fault->seconds > risen_at(scene, 0.9, 0.9))
		scene->lost = true; /* the end of the span may be lost in the gap */
	if (fault->seconds > 8 / scene->world.hz * scene->world.chunk && !scene->lost)
		scene->must |= EVENT(EVENT_GAP);
	scene->gap = true;
}

static void zero(struct scene *scene)
{
	good(scene);
	if (chance(scene, 0.5)) {
		double size = scene->maximum_n * between(scene, 0.004, 0.02);
		scene->world.zero_n = chance(scene, 0.5) ? size : -size;
		scene->must |= EVENT(EVENT_ZERO_OFFSET);
	} else {
		scene->world.zero_drift_n_s = scene->maximum_n * between(scene, -0.0001, 0.0001);
		scene->may |= EVENT(EVENT_ZERO_OFFSET);
	}
}

static void saturation(struct scene *scene)
{
	good(scene);
	scene->world.capacity_n = scene->maximum_n * between(scene, 0.5, 0.95);
	scene->must |= EVENT(EVENT_OVER_RANGE);
	scene->may |= EVENT(EVENT_STALL) | EVENT(EVENT_STUCK);
	scene->either_end = true;
	scene->gap = true;
}

static void stops(struct scene *scene)
{
	good(scene);
	scene->world.stop_s = risen_at(scene, 0.3, 0.95);
	scene->end = END_INTERRUPTED;
	scene->gap = true;
}

static const struct kind table[] = {
	{"steady", steady},
	{"good", good},
	{"change near the half", change_near_half},
	{"change at the half", change_at_half},
	{"excursion", excursion},
	{"creep", creep},
	{"stall", stall},
	{"shock", shock},
	{"roll-off from 90 %", roll_off_late},
	{"roll-off from 80 %", roll_off_early},
	{"weak specimen", weak},
	{"strong specimen", strong},
	{"corner lets go", corner},
	{"two corners", two_corners},
	{"corner at the top", corner_at_top},
	{"broken, loaded again", reload_broken},
	{"let off", let_off},
	{"let off after the maximum", let_off_after_maximum},
	{"alignment check", alignment},
	{"spikes", spikes},
	{"spike at the top", spike_at_top},
	{"stuck readings", stuck},
	{"gap", gap},
	{"zero offset and drift", zero},
	{"saturation", saturation},
	{"readings stop", stops},
	{NULL, NULL},
};

const struct kind *kinds_table(void)
{
	return table;
}
