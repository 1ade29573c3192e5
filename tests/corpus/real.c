/* SPDX-License-Identifier: MIT
 *
 * A recorded curve, with the ramp that its press was set to drawn beneath it.
 */
#include "real.h"

#include "measure/curve.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* What the press was set to. */
static const double set_pa_s = 0.5e6;
/* Contact in a recording, as `ramplog assess` finds it: this part of its highest load. */
static const double contact_part = 0.005;
/* The recordings have 5 or 8 readings a second. */
static const double slowest_hz = 5;

static bool read_curve(const char *path, struct curve *curve, struct message *why)
{
	FILE *file = fopen(path, "r");
	char *text = NULL;
	size_t room = 0;
	if (file == NULL)
		return message_set(why, "%s cannot be opened", path);
	ssize_t length = getdelim(&text, &room, '\0', file); /* all of it: it holds no NUL */
	fclose(file);
	bool good = length > 0 ? curve_parse(path, text, (size_t)length, curve, why)
			       : message_set(why, "%s cannot be read", path);
	free(text);
	return good;
}

static void keep(const struct curve *curve, struct record *record)
{
	*record = (struct record){.samples = record->samples, .largest_un = INT64_MIN};
	for (size_t i = 0; i < curve->count && i < WORLD_SAMPLES_MAX; i++) {
		const struct sample *sample = &curve->samples[i];
		record->samples[record->count++] = *sample;
		if (sample->load_un <= record->largest_un)
			continue;
		record->largest_un = sample->load_un;
		record->largest_ns = sample->time.ns;
	}
}

/* The ramp ends at the record's largest reading. */
static void draw(struct scene *scene, const struct record *record)
{
	double top_s = (double)record->largest_ns * 1e-9;
	double ramp_s = scene->maximum_n / scene->rate_n_s;
	drawing_init(&scene->drawing);
	scene->drawing.end_s = top_s - ramp_s; /* before the recording began, maybe */
	drawing_to(&scene->drawing, scene->maximum_n, scene->rate_n_s);
	drawing_jump(&scene->drawing, 0);
	scene->loaded_until_s = top_s;
	drawing_run(&scene->drawing, 1, 0);
}

bool real_load(struct machine *machine, const char *path, struct message *why)
{
	struct scene *scene = &machine->scene;
	struct curve curve;
	const char *name = strrchr(path, '/');
	bool cylinder = strncmp(name != NULL ? name + 1 : path, "cyl", 3) == 0;
	*scene = (struct scene){
		.method = method_find("en-12390-3"),
		.press = PRESS_HUNTING,
		.world = {.hz = slowest_hz, .step_n = 1, .chunk = 1},
		.specimen = {.id = "real",
			.shape = cylinder ? SHAPE_CYLINDER : SHAPE_CUBE,
			.width_um = {cylinder ? 99000 : 150000, cylinder ? 99000 : 150000},
			.length_um = cylinder ? 299000 : 150000,
			.chosen_rate_pa_s = set_pa_s},
		.either_end = true, /* tests/reference knows the one that was let off */
	};
	if (!method_plan(scene->method, &scene->specimen, &scene->plan, why) ||
		!read_curve(path, &curve, why))
		return false;
	keep(&curve, &machine->record);
	curve_finish(&curve);
	struct plan *plan = &scene->plan;
	scene->area_m2 = plan->area_m2;
	scene->low_n_s = plan->band_low * plan->rate_unit_pa * plan->area_m2;
	scene->high_n_s = plan->band_high * plan->rate_unit_pa * plan->area_m2;
	scene->rate_n_s = set_pa_s * plan->area_m2;
	scene->maximum_n = (double)machine->record.largest_un * 1e-6;
	plan->anticipated_load_un = machine->record.largest_un;
	plan->contact_un = (int64_t)(contact_part * (double)plan->anticipated_load_un);
	draw(scene, &machine->record);
	return true;
}
