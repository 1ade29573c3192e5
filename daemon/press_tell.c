/* SPDX-License-Identifier: MIT
 *
 * What the watchers and the log hear of a press, and what it answers when it is asked how it
 * stands. Nothing here changes a run, but for how much of it was told.
 */
#include "log.h"
#include "now.h"
#include "press_inside.h"
#include "wire/live.h"
#include "wire/outcome_json.h"

#include <stdio.h>
#include <string.h>

static void tell_sample(struct press *press, const struct live *live, bool changed)
{
	clients_send_live(press->world.clients, press->index, press_name(press), live->time,
		changed, live, press->run.going ? press->run.origin : live->time);
}

void press_tell_idle(struct press *press, const struct sample *sample)
{
	if (!clients_want_live(press->world.clients, press->index, sample->time, false))
		return;
	struct live live = {.phase = PHASE_IDLE, .time = sample->time, .load_un = sample->load_un};
	tell_sample(press, &live, false);
}

static void tell_event(struct press *press, const struct event *event)
{
	char buffer[LIVE_LINE_SIZE];
	struct text line;

	text_init(&line, buffer, sizeof buffer);
	live_write_event(&line, press_name(press), event, press->run.origin);
	clients_send(press->world.clients, (int)press->index, buffer, line.length);
	uint8_t *logged = &press->run.logged[event->kind];
	if (*logged == PRESS_LOGGED_MAX)
		return;
	(*logged)++;
	log_line(LOG_INFO, "press %s: %s: %s%s", press_name(press), event_kind_text(event->kind),
		event->text,
		*logged == PRESS_LOGGED_MAX ? "; further ones are only on the run" : "");
}

static void tell_events(struct press *press)
{
	const struct event *events = NULL;
	size_t count = judge_events(press->judge, &events);

	while (press->run.event_count < count)
		tell_event(press, &events[press->run.event_count++]);
	count = press_watch_events(&press->watch, &events);
	while (press->run.watch_event_count < count)
		tell_event(press, &events[press->run.watch_event_count++]);
}

void press_tell_running(struct press *press, const struct sample *sample, bool changed)
{
	tell_events(press);
	if (!clients_want_live(press->world.clients, press->index, sample->time, changed))
		return;
	struct live live;
	judge_live(press->judge, &live);
	live.has_thrust = press->watch.thrust.known;
	live.thrust_x_um = press->watch.thrust.x_um;
	live.thrust_y_um = press->watch.thrust.y_um;
	tell_sample(press, &live, changed);
}

void press_tell_stored(struct press *press, struct mono_time reading)
{
	const struct run *run = &press->run;
	char buffer[LIVE_LINE_SIZE];
	struct text line;

	/* A run's end is told of when it is on the disk, and what comes late belongs to none. */
	if (!run->going || !run->number || reading.ns < run->origin.ns)
		return;
	text_init(&line, buffer, sizeof buffer);
	live_write_stored(&line, press_name(press), run->number, reading, run->origin);
	clients_send(press->world.clients, (int)press->index, buffer, line.length);
}

void press_tell_notices(struct press *press)
{
	struct stance *stance = &press->stance;
	struct status_notices notices;

	stance_notices(stance, press->has_seated ? &press->seated : NULL, !press->run.going,
		now_utc(), &notices);
	if (press->run.going || status_notices_equal(&notices, &stance->told))
		return;
	struct standing standing;
	stance_standing(stance, now_utc(), &standing);
	for (size_t i = 0; i < notices.count; i++) {
		if (!status_notices_have(&stance->told, notices.texts[i]))
			log_line(LOG_WARNING, "press %s: %s", press_name(press), notices.texts[i]);
	}
	stance->told = notices;
	clients_send_json(press->world.clients, (int)press->index,
		live_json_notices(
			press_name(press), &notices, standing_reportable(&standing, 0, NULL)));
}

void press_tell_opened(const struct press *press, const struct writer_note *note)
{
	const struct run_start *start = &note->start;
	struct live_run run = {
		.run = note->run,
		.has_specimen = start->has_specimen,
		.specimen = start->specimen,
		.band_low_pa_s = start->plan.band_low * start->plan.rate_unit_pa,
		.band_high_pa_s = start->plan.band_high * start->plan.rate_unit_pa,
		.area_mm2 = start->plan.area_m2 * 1e6,
	};

	memcpy(run.method, start->method, sizeof run.method);
	log_line(LOG_INFO, "press %s: run %lld opened, %s%s", press_name(press),
		(long long)note->run, start->has_specimen ? "specimen " : "no specimen seated",
		start->has_specimen ? start->specimen.id : "");
	clients_send_json(press->world.clients, (int)press->index,
		live_json_run_open(press_name(press), &run));
}

void press_tell_closed(const struct press *press, const struct writer_note *note)
{
	const struct outcome *outcome = &note->close.outcome;
	const char *verdict = verdict_text(outcome->judgement.rate.verdict);
	struct outcome_head head = {
		.run = note->run,
		.press = press_name(press),
		.specimen = note->close.specimen_id,
		.started = note->close.started,
		.samples = note->close.reading_count,
		.standing = &press->run_stood,
		.maximum_un = outcome->judgement.maximum_un,
	};
	json_t *object = outcome_json(outcome, note->close.origin);

	log_line(LOG_INFO, "press %s: run %lld closed, %s at %.1f kN%s%s%s%s", press_name(press),
		(long long)note->run, end_text(outcome->judgement.end),
		(double)outcome->judgement.maximum_un / (double)UNITS_UN_PER_N / 1000,
		outcome->strength_reported[0] ? ", " : "", outcome->strength_reported,
		verdict[0] ? ", rate " : "", verdict);
	outcome_json_head(object, &head);
	clients_send_json(press->world.clients, (int)press->index,
		live_json_run_closed(press_name(press), object));
}

void press_status(const struct press *press, struct status_press *status)
{
	*status = (struct status_press){
		.capacity_un = press->config->capacity_un,
		.phase = press->run.going ? press->run.phase : PHASE_IDLE,
		.has_seated = press->has_seated,
		.seated = press->seated,
		.run = press->run.number,
		.cell_count = press->cell_count,
	};
	struct utc_time now = now_utc();
	stance_standing(&press->stance, now, &status->standing);
	stance_notices(&press->stance, press->has_seated ? &press->seated : NULL, !press->run.going,
		now, &status->notices);
	snprintf(status->name, sizeof status->name, "%s", press_name(press));
	snprintf(status->method, sizeof status->method, "%s", press->config->method->name);
	for (size_t i = 0; i < press->cell_count; i++)
		cell_status(press->cells[i], &status->cells[i]);
}
