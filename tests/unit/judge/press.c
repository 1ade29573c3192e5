/* SPDX-License-Identifier: MIT
 *
 * Draws the curve piece by piece and samples it on the way.
 */
#include "press.h"

#include "unit/check.h"

#include <stdlib.h>

struct press *press_new(double hz)
{
	struct press *press = calloc(1, sizeof *press);
	assert_non_null(press);
	press->hz = hz;
	press->random.state = 1;
	return press;
}

static void take(struct press *press, double time_s, double load_n)
{
	assert_true(press->count < PRESS_SAMPLES_MAX);
	load_n += press->swing_n * sin(2 * M_PI * press->swing_hz * time_s);
	if (press->noise_n > 0)
		load_n += press->noise_n * random_normal(&press->random);
	if (press->step_n > 0)
		load_n = press->step_n * round(load_n / press->step_n);
	press->samples[press->count++] = (struct sample){
		.time = {llround(time_s * 1e9)},
		.load_un = llround(load_n * 1e6),
	};
	press->due_s = time_s + 1 / press->hz;
}

/* Samples load(t) = load + rate t + bend t^2 over the next seconds. */
static void draw(struct press *press, double seconds, double rate_n_s, double bend_n_s2)
{
	double start_s = press->time_s, end_s = start_s + seconds;
	while (press->due_s < end_s) {
		double t = press->due_s - start_s;
		take(press, press->due_s, press->load_n + rate_n_s * t + bend_n_s2 * t * t);
	}
	press->load_n += rate_n_s * seconds + bend_n_s2 * seconds * seconds;
	press->time_s = end_s;
}

void press_to(struct press *press, double load_n, double rate_n_s)
{
	double rate = copysign(rate_n_s, load_n - press->load_n);
	draw(press, (load_n - press->load_n) / rate, rate, 0);
	press->load_n = load_n;
}

void press_hold(struct press *press, double seconds)
{
	draw(press, seconds, 0, 0);
}

void press_round(struct press *press, double maximum_n, double rate_n_s)
{
	double seconds = 2 * (maximum_n - press->load_n) / rate_n_s;
	draw(press, seconds, rate_n_s, -rate_n_s / seconds / 2);
}

void press_jump(struct press *press, double load_n)
{
	press->load_n = load_n;
}

void press_gap(struct press *press, double seconds, double rate_n_s)
{
	press->time_s += seconds;
	press->load_n += rate_n_s * seconds;
	press->due_s = press->time_s;
}

struct track press_track(const struct press *press)
{
	struct track track;
	assert_true(track_init(&track, press->count));
	for (size_t i = 0; i < press->count; i++)
		track_add(&track,
			(struct slope_point){press->samples[i].time.ns, press->samples[i].load_un});
	return track;
}

void press_judge(const struct press *press, const struct plan *plan, struct judgement *judgement)
{
	struct judge *judge = judge_create(PRESS_SAMPLES_MAX);
	assert_non_null(judge);
	judge_start(judge, plan);
	for (size_t i = 0; i < press->count; i++) {
		if (judge_feed(judge, &press->samples[i]))
			break;
	}
	judge_finish(judge, judgement);
	judge_destroy(judge);
}

size_t press_events(const struct judgement *judgement, enum event_kind kind)
{
	size_t count = 0;
	for (size_t i = 0; i < judgement->event_count; i++)
		count += judgement->events[i].kind == kind;
	return count;
}
