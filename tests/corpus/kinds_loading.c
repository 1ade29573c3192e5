/* SPDX-License-Identifier: MIT
 *
 * How the load was put on: rates, changes of rate, stand-stills and steps.
 */
#include "kinds.h"
#include "pieces.h"

#include <math.h>

/* Of the middle of the band: far enough from both limits of either kind of band. */
static const double thirty_percent = 0.3;

/* At any rate, in the band or out of it, from start to end. */
void kinds_steady(struct scene *scene)
{
	pieces_maybe_anticipate(scene);
	double rate = pieces_between(scene, 0.7 * scene->low_n_s, 1.3 * scene->high_n_s);
	pieces_seat(scene, 0.1, rate);
	pieces_finish(scene, rate);
}

void kinds_good(struct scene *scene)
{
	pieces_maybe_anticipate(scene);
	double rate = pieces_good_rate(scene);
	pieces_seat(scene, 0.1, rate);
	pieces_finish(scene, rate);
}

void kinds_throughout(struct scene *scene)
{
	bool fast = pieces_chance(scene, 0.5);
	double rate = fast ? scene->high_n_s * pieces_between(scene, 1.05, 2.5)
			   : scene->low_n_s * pieces_between(scene, 0.3, 0.95);
	pieces_maybe_anticipate(scene);
	pieces_seat(scene, 0.1, rate);
	pieces_finish(scene, rate);
}

/* No verdict is wrong here; how often each is given is worth knowing. */
void kinds_at_limit(struct scene *scene)
{
	double rate = pieces_chance(scene, 0.5) ? scene->low_n_s : scene->high_n_s;
	pieces_maybe_anticipate(scene);
	pieces_seat(scene, 0.1, rate);
	pieces_up_to(scene, 1, rate);
	pieces_snap(scene);
}

static void change_at(struct scene *scene, double at)
{
	double rate = pieces_good_rate(scene);
	pieces_anticipate(scene, scene->maximum_n);
	pieces_seat(scene, at, rate * pieces_between(scene, 1.3, 4));
	pieces_finish(scene, rate);
}

void kinds_change_before(struct scene *scene)
{
	change_at(scene, pieces_half(scene) - pieces_between(scene, 0.002, 0.08));
}

void kinds_change_at(struct scene *scene)
{
	change_at(scene, pieces_half(scene));
}

void kinds_change_after(struct scene *scene)
{
	change_at(scene, pieces_half(scene) + pieces_between(scene, 0.002, 0.08));
}

/* For some seconds at another rate, within the judged span. */
static void depart(struct scene *scene, double rate, double other, double windows)
{
	double seconds = (double)scene->plan.window_ns * 1e-9 * windows;
	pieces_anticipate(scene, scene->maximum_n);
	pieces_seat(scene, 0.1, rate);
	pieces_up_to(scene, pieces_inside(scene, 0.8), rate);
	scene->warned_from_s = scene->drawing.end_s;
	drawing_run(&scene->drawing, seconds, other);
	scene->warned_until_s = scene->drawing.end_s;
	scene->warned_rate_n_s = other;
	if (other < 0.35 * rate)
		scene->may |= PIECES_EVENT(EVENT_STALL);
	if (scene->drawing.load_n > 0.97 * scene->maximum_n)
		scene->maximum_n = scene->drawing.load_n / 0.97;
	pieces_finish(scene, rate);
}

void kinds_excursion_up(struct scene *scene)
{
	double rate = pieces_good_rate(scene);
	double other = rate * pieces_between(scene, 1.2, 2.5);
	depart(scene, rate, other, pieces_between(scene, 0.5, 1.5));
}

void kinds_excursion_down(struct scene *scene)
{
	double rate = pieces_good_rate(scene);
	double other = rate * pieces_between(scene, 0.1, 0.8);
	depart(scene, rate, other, pieces_between(scene, 0.5, 1.5));
}

/* What live warnings are measured with: from the middle of the band by 30 % of it, for a judging
 * window and more. */
void kinds_excursion_30(struct scene *scene)
{
	double sign = pieces_chance(scene, 0.5) ? 1 : -1;
	double other = scene->rate_n_s * (1 + sign * thirty_percent);
	depart(scene, scene->rate_n_s, other, pieces_between(scene, 1, 2));
}

/* The rate drifts slowly, perhaps through a limit. */
void kinds_creep(struct scene *scene)
{
	double from = pieces_good_rate(scene), to = from * pieces_between(scene, 0.5, 1.6);
	pieces_seat(scene, 0.2, from);
	double way = 0.77 * scene->maximum_n;
	drawing_bend(&scene->drawing, way / ((from + to) / 2), from, to);
	pieces_up_to(scene, 1, to);
	pieces_snap(scene);
}

void kinds_stall(struct scene *scene)
{
	double rate = pieces_good_rate(scene), seconds = pieces_between(scene, 0.5, 8);
	pieces_maybe_anticipate(scene);
	pieces_seat(scene, 0.1, rate);
	pieces_up_to(scene, pieces_inside(scene, 0.85), rate);
	drawing_run(&scene->drawing, seconds, 0);
	scene->may |= PIECES_EVENT(EVENT_STALL);
	if (seconds > 3 && scene->world.hunting_n <= 0)
		scene->must |= PIECES_EVENT(EVENT_STALL);
	scene->stop_s = seconds > 3 ? scene->drawing.end_s - seconds / 2 : 0;
	pieces_finish(scene, rate);
}

void kinds_shock(struct scene *scene)
{
	double rate = pieces_good_rate(scene);
	pieces_seat(scene, 0.1, rate);
	pieces_up_to(scene, pieces_inside(scene, 0.8), rate);
	double step = scene->drawing.load_n * pieces_between(scene, 0.03, 0.1);
	drawing_jump(&scene->drawing, scene->drawing.load_n + step);
	pieces_expect(scene, EVENT_SHOCK, step);
	pieces_finish(scene, rate);
}

/* Natural, and never an excursion. */
void kinds_roll_off_late(struct scene *scene)
{
	double rate = pieces_good_rate(scene);
	pieces_maybe_anticipate(scene);
	pieces_seat(scene, 0.1, rate);
	pieces_up_to(scene, pieces_between(scene, 0.9, 0.93), rate);
	drawing_round(&scene->drawing, scene->maximum_n, rate);
	if (pieces_chance(scene, 0.5))
		pieces_decline(scene);
	else
		pieces_snap(scene);
}

/* Soft concrete: judged like any other, but the reason must say that it was yielding. */
void kinds_roll_off_early(struct scene *scene)
{
	double rate = pieces_good_rate(scene);
	pieces_maybe_anticipate(scene);
	pieces_seat(scene, 0.1, rate);
	pieces_up_to(scene, pieces_between(scene, 0.7, 0.85), rate);
	drawing_round(&scene->drawing, scene->maximum_n, rate);
	scene->yields = true;
	pieces_decline(scene);
}

/* Half of the anticipated load is most of the actual one: the faster first half reaches far. */
void kinds_weak(struct scene *scene)
{
	double rate = pieces_good_rate(scene), part = pieces_between(scene, 0.55, 0.85);
	if (pieces_chance(scene, 0.7))
		pieces_anticipate(scene, scene->maximum_n * part / pieces_half(scene));
	pieces_seat(scene, part, rate * pieces_between(scene, 1.3, 3));
	pieces_finish(scene, rate);
}

void kinds_strong(struct scene *scene)
{
	double rate = pieces_good_rate(scene), part = pieces_between(scene, 0.5, 0.9);
	if (pieces_chance(scene, 0.7))
		pieces_anticipate(scene, scene->maximum_n * part);
	pieces_seat(scene, part * pieces_half(scene), rate * pieces_between(scene, 1, 3));
	pieces_finish(scene, rate);
}
