/* SPDX-License-Identifier: MIT
 *
 * Readers of the lines that a watcher receives: a table of kinds, one reader each.
 */
#include "base/units.h"
#include "wire/fields.h"
#include "wire/live.h"
#include "wire/specimen_json.h"

#include <string.h>

static const double LOAD_N_MAX = 1e8;
static const double LENGTH_MM_MAX = 1e6;
static const double TIME_S_MAX = 1e9;
static const double PRESSURE_PA_MAX = 1e15;

static bool advice_parse(const char *text, enum advice *advice)
{
	for (int i = ADVICE_NONE; i <= ADVICE_DECLINING; i++) {
		if (strcmp(live_advice_text((enum advice)i), text) != 0)
			continue;
		*advice = (enum advice)i;
		return true;
	}
	return false;
}

static void read_load(struct fields *fields, const char *key, enum fields_need need, int64_t *un)
{
	fields_scaled(fields, key, need, (double)UNITS_UN_PER_N, LOAD_N_MAX, un);
}

static void read_length(struct fields *fields, const char *key, int64_t *um)
{
	fields_scaled(fields, key, FIELDS_OPTIONAL, (double)UNITS_UM_PER_MM, LENGTH_MM_MAX, um);
}

static void read_time(struct fields *fields, struct mono_time *time)
{
	fields_scaled(
		fields, "time_s", FIELDS_REQUIRED, (double)CLOCKS_NS_PER_S, TIME_S_MAX, &time->ns);
}

static void read_sample(struct fields *fields, struct live_line *line)
{
	struct live *live = &line->sample;
	char phase[16] = "", advice[24] = "none";
	double rate_pa_s = 0;

	*live = (struct live){.phase = PHASE_IDLE};
	fields_text(fields, "phase", FIELDS_REQUIRED, phase, sizeof phase);
	read_time(fields, &live->time);
	read_load(fields, "load_n", FIELDS_REQUIRED, &live->load_un);
	read_load(fields, "maximum_n", FIELDS_REQUIRED, &live->maximum_un);
	fields_number(fields, "stress_pa", FIELDS_OPTIONAL, -PRESSURE_PA_MAX, PRESSURE_PA_MAX,
		&live->stress_pa);
	live->has_rate = fields_get(fields, "rate_pa_s", FIELDS_OPTIONAL) != NULL;
	fields_number(fields, "rate_pa_s", FIELDS_OPTIONAL, -PRESSURE_PA_MAX, PRESSURE_PA_MAX,
		&rate_pa_s);
	live->rate_pa_s = rate_pa_s;
	fields_number(fields, "rate_u_pa_s", FIELDS_OPTIONAL, 0, PRESSURE_PA_MAX,
		&live->rate_uncertainty_pa_s);
	read_load(fields, "band_begins_n", FIELDS_OPTIONAL, &live->band_begins_un);
	live->has_thrust = fields_get(fields, "thrust_x_mm", FIELDS_OPTIONAL) != NULL;
	read_length(fields, "thrust_x_mm", &live->thrust_x_um);
	read_length(fields, "thrust_y_mm", &live->thrust_y_um);
	fields_text(fields, "advice", FIELDS_OPTIONAL, advice, sizeof advice);
	fields_bool(fields, "warning", FIELDS_OPTIONAL, &live->warning);
	fields_text(fields, "text", FIELDS_OPTIONAL, live->text, sizeof live->text);
	fields_integer(fields, "skipped", FIELDS_OPTIONAL, 0, INT64_MAX, &line->skipped);
	if (fields->failed)
		return;
	if (!status_phase_parse(phase, &live->phase) || !advice_parse(advice, &live->advice)) {
		message_set(fields->why, "phase \"%s\" or advice \"%s\" is not known here", phase,
			advice);
		fields->failed = true;
	}
}

static void read_event(struct fields *fields, struct live_line *line)
{
	char kind[32] = "";

	line->event = (struct event){.load_un = 0};
	fields_text(fields, "kind", FIELDS_REQUIRED, kind, sizeof kind);
	read_time(fields, &line->event.time);
	read_load(fields, "load_n", FIELDS_REQUIRED, &line->event.load_un);
	fields_text(fields, "text", FIELDS_OPTIONAL, line->event.text, sizeof line->event.text);
	if (!fields->failed && !event_kind_parse(kind, &line->event.kind))
		fields->failed = !message_set(fields->why, "event \"%s\" is not known here", kind);
}

static void read_run_open(struct fields *fields, struct live_line *line)
{
	struct live_run *run = &line->run_open;

	*run = (struct live_run){.run = 0};
	fields_integer(fields, "run", FIELDS_REQUIRED, 1, INT64_MAX, &run->run);
	fields_text(fields, "method", FIELDS_REQUIRED, run->method, sizeof run->method);
	fields_number(
		fields, "band_low_pa_s", FIELDS_OPTIONAL, 0, PRESSURE_PA_MAX, &run->band_low_pa_s);
	fields_number(fields, "band_high_pa_s", FIELDS_OPTIONAL, 0, PRESSURE_PA_MAX,
		&run->band_high_pa_s);
	fields_number(fields, "area_mm2", FIELDS_OPTIONAL, 0, PRESSURE_PA_MAX, &run->area_mm2);
	const json_t *specimen = fields_get(fields, "specimen", FIELDS_OPTIONAL);
	run->has_specimen = specimen != NULL;
	if (specimen && !fields->failed)
		fields->failed = !specimen_json_read(specimen, &run->specimen, fields->why);
}

static void read_fracture(struct fields *fields, struct live_line *line)
{
	int64_t type = 0;

	line->fracture = (struct live_fracture){.run = 0};
	fields_integer(fields, "run", FIELDS_REQUIRED, 1, INT64_MAX, &line->fracture.run);
	fields_integer(fields, "type", FIELDS_REQUIRED, 0, INT16_MAX, &type);
	fields_text(
		fields, "note", FIELDS_OPTIONAL, line->fracture.note, sizeof line->fracture.note);
	line->fracture.type = (int)type;
}

static void read_cell(struct fields *fields, struct live_line *line)
{
	fields->failed = !status_cell_read(fields->object, &line->cell, fields->why);
}

static void read_seated(struct fields *fields, struct live_line *line)
{
	fields->failed = !specimen_json_read(fields->object, &line->seated, fields->why);
	line->has_specimen = true;
}

static void read_stored(struct fields *fields, struct live_line *line)
{
	fields_integer(fields, "run", FIELDS_REQUIRED, 1, INT64_MAX, &line->run);
	read_time(fields, &line->stored);
}

static const struct {
	const char *name;
	void (*read)(struct fields *fields, struct live_line *line); /* NULL: left as JSON */
} KINDS[] = {
	[LIVE_SAMPLE] = {"live", read_sample},
	[LIVE_EVENT] = {"event", read_event},
	[LIVE_RUN_OPEN] = {"run_open", read_run_open},
	[LIVE_RUN_CLOSED] = {"run_closed", NULL},
	[LIVE_FRACTURE] = {"fracture", read_fracture},
	[LIVE_CELL] = {"cell", read_cell},
	[LIVE_SEATED] = {"seated", read_seated},
	[LIVE_DURABLE] = {"durable", NULL},
	[LIVE_NOTICES] = {"notices", NULL},
	[LIVE_STORED] = {"stored", read_stored},
};

static bool read_line(struct live_line *line, struct message *why)
{
	struct fields fields;

	fields_init(&fields, line->json, "the line", why);
	if (fields.failed)
		return false;
	/* An answer carries "ok"; its other attributes may bear the name of a kind. */
	for (int i = LIVE_SAMPLE; i < LIVE_OTHER && !json_object_get(line->json, "ok"); i++) {
		const json_t *content = json_object_get(line->json, KINDS[i].name);

		if (!content)
			continue;
		line->kind = (enum live_kind)i;
		fields_text(&fields, "press", FIELDS_OPTIONAL, line->press, sizeof line->press);
		if (i == LIVE_DURABLE)
			fields_bool(&fields, "durable", FIELDS_REQUIRED, &line->durable);
		if (i == LIVE_NOTICES)
			fields_bool(&fields, "reportable", FIELDS_OPTIONAL, &line->reportable);
		if (i == LIVE_NOTICES && !fields.failed)
			fields.failed = !status_notices_read(content, &line->notices, why);
		if (fields.failed || !KINDS[i].read || (i == LIVE_SEATED && json_is_null(content)))
			return !fields.failed;
		fields_init(&fields, content, KINDS[i].name, why);
		if (!fields.failed)
			KINDS[i].read(&fields, line);
		return !fields.failed;
	}
	return true;
}

bool live_read(const char *text, size_t length, struct live_line *line, struct message *why)
{
	json_error_t error;

	*line = (struct live_line){.kind = LIVE_OTHER};
	line->json = json_loadb(text, length, JSON_REJECT_DUPLICATES, &error);
	if (!line->json)
		return message_set(why, "a line that is not JSON: %s", error.text);
	if (read_line(line, why))
		return true;
	live_line_finish(line);
	return false;
}

void live_line_finish(struct live_line *line)
{
	json_decref(line->json);
	line->json = NULL;
}
