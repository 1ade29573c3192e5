/* SPDX-License-Identifier: MIT
 *
 * Feeding and looking; judging again stands in again.c.
 */
#include "machine.h"
#include "truth.h"

#include <math.h>
#include <stdlib.h>

/* What a person sees is drawn anew this often. */
static const int64_t look_ns = CLOCKS_NS_PER_S / 20;
/* A warning that comes this long after the excursion is none of it. */
static const double too_late_s = 1;

bool machine_init(struct machine *machine)
{
	*machine = (struct machine){.judge = judge_create(JUDGE_TRACK_MAX)};
	machine->record.samples = malloc(WORLD_SAMPLES_MAX * sizeof machine->record.samples[0]);
	return machine->judge != NULL && machine->record.samples != NULL;
}

/* Good loading: anticipated, no fault, and the rate within the band from the half, as early as it
 * may be seen, to the end of the judged span. */
static void prepare(struct watch *watch, const struct scene *scene)
{
	const struct drawing *drawing = &scene->drawing;
	double least, largest;
	*watch = (struct watch){0};
	double maximum = drawing_maximum(drawing, scene->loaded_until_s, &watch->maximum_s);
	double half = scene->plan.span_from * (double)scene->plan.anticipated_load_un * 1e-6;
	double from_s = drawing_reach(drawing, half);
	double early_s = drawing_reach(drawing, half - truth_swing_n(scene));
	double until_s = drawing_reach(drawing, scene->plan.span_to * maximum);
	if (half <= 0 || from_s < 0 || from_s >= until_s || scene->world.fault_count > 0 ||
		scene->unknowable || !drawing_rates(drawing, early_s, until_s, &least, &largest))
		return;
	if (least < scene->low_n_s || largest > scene->high_n_s)
		return;
	watch->good_from_s = from_s;
	watch->good_until_s = until_s;
}

static void look(struct machine *machine, int64_t now_ns)
{
	const struct scene *scene = &machine->scene;
	struct watch *watch = &machine->watch;
	if (now_ns - watch->looked_ns < look_ns)
		return;
	watch->looked_ns = now_ns;
	struct live live;
	judge_live(machine->judge, &live);
	double now_s = (double)now_ns * 1e-9;
	bool fast = live.advice == ADVICE_TOO_FAST;
	bool new = live.warning && !watch->warning;
	watch->warning = live.warning;
	if (live.warning && fast == (scene->warned_rate_n_s > scene->rate_n_s) &&
		watch->announced_s <= 0 && now_s >= scene->warned_from_s &&
		now_s < scene->warned_until_s + too_late_s)
		watch->announced_s = now_s;
	if (!new || watch->good_until_s <= watch->good_from_s)
		return;
	watch->good_warnings += now_s >= watch->good_from_s && now_s < watch->good_until_s;
	watch->late_warnings += now_s >= watch->good_until_s && now_s < watch->maximum_s;
}

void machine_judge(struct machine *machine)
{
	prepare(&machine->watch, &machine->scene);
	judge_start(machine->judge, &machine->scene.plan);
	for (size_t i = 0; i < machine->record.count; i++) {
		if (judge_feed(machine->judge, &machine->record.samples[i]))
			break;
		look(machine, machine->record.samples[i].time.ns);
	}
	judge_finish(machine->judge, &machine->judgement);
}
