/* SPDX-License-Identifier: MIT
 *
 * A press's run: opened, recorded, closed, or taken up again where another process left it.
 *
 * Each reading goes to the writer first and then through the sum to the judge; one that the writer
 * cannot take ends the run, since a run with a hole cannot be derived again.
 */
#include "log.h"
#include "now.h"
#include "press_inside.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

/* ---- it begins */

static void fill_cells(const struct press *press, struct run_start *start)
{
	start->cell_count = press->cell_count;
	for (size_t i = 0; i < press->cell_count; i++) {
		const struct config_cell *config =
			&press->world.config->cells[press->config->cells[i]];
		struct run_cell *cell = &start->cells[i];

		snprintf(cell->name, sizeof cell->name, "%s", config->section.name);
		snprintf(cell->device, sizeof cell->device, "%s", config->port.device);
		snprintf(cell->decoder, sizeof cell->decoder, "%s", config->decoder->name);
		cell->scale = press->scales[i];
	}
}

/* A load from which noise does not decide where it acts. */
enum { THRUST_LEAST_CONTACTS = 10 };

static void fill_watch(const struct press *press, struct press_watch_plan *watch)
{
	const struct config_press *config = press->config;

	*watch = (struct press_watch_plan){
		.zero_limit_un = config->zero_limit_un,
		.drift_limit_un = config->drift_limit_un,
		.has_zero_before = press->stance.has_zero_before,
		.zero_before_un = press->stance.zero_before_un,
		.thrust_least_un = THRUST_LEAST_CONTACTS * config->contact_un,
		.block = config->block,
	};
	for (size_t i = 0; i < press->cell_count; i++) {
		const struct config_place *place =
			&press->world.config->cells[config->cells[i]].place;

		if (!place->known)
			return;
		watch->places[i] = place->at;
	}
	watch->place_count = press->cell_count;
	watch->thrust_limit_um = config->eccentricity_um;
}

static struct writer_note *make_open_note(struct press *press)
{
	struct writer_note *note = writer_note_create(WRITER_RUN_OPEN);

	assert(note);
	struct run_start *start = &note->start;
	note->now = now_utc();
	note->press = press->index;
	snprintf(start->press, sizeof start->press, "%s", press_name(press));
	snprintf(start->method, sizeof start->method, "%s", press->next_method->name);
	start->judged_by = press->next_method;
	start->has_specimen = press->has_seated;
	if (press->has_seated)
		start->specimen = press->seated;
	start->plan = press->next_plan;
	start->capacity_un = press->config->capacity_un;
	start->origin = preroll_at(&press->preroll, 0).reading.time;
	start->started = now_utc_at(start->origin);
	snprintf(start->boot_id, sizeof start->boot_id, "%s", press->world.boot_id);
	snprintf(start->program, sizeof start->program, "ramplogd %s", RAMPLOG_VERSION);
	fill_cells(press, start);
	fill_watch(press, &start->watch);
	return note;
}

static void watch_run(struct press *press, const struct run_start *start)
{
	press_watch_start(&press->watch, &start->watch, start->cell_count, &start->plan,
		start->has_specimen ? &start->specimen : NULL);
}

/* False: nothing can be recorded now. */
static bool open_run(struct press *press)
{
	struct writer_note *note = NULL;

	if (writer_has_room(press->world.writer))
		note = make_open_note(press);
	if (!note || !writer_put(press->world.writer, note)) {
		writer_note_destroy(note);
		if (!press->refusing) {
			log_line(LOG_ERROR,
				"press %s: NOT RECORDED: a loading begins, but the disk refuses and"
				" the memory for readings is full",
				press_name(press));
			writer_lose(press->world.writer, press->index, press_name(press), 0, 1,
				now_utc());
		}
		press->refusing = true;
		return false;
	}
	press->refusing = false;
	watch_run(press, &note->start);
	stance_remember_zero(&press->stance);
	press->run = (struct run){
		.going = true,
		.method = press->next_method,
		.has_specimen = note->start.has_specimen,
		.specimen = note->start.specimen,
		.origin = note->start.origin,
		.started = note->start.started,
	};
	return true;
}

void press_run_start(struct press *press)
{
	press->contact_made = false;
	if (!open_run(press))
		return;
	sum_reset(&press->sum);
	judge_start(press->judge, &press->next_plan);
	/* Taken by this run, which its opening tells the watchers. */
	press_set_seat(press, NULL);
	press->run.silently = true;
	for (size_t i = 0; i < press->preroll.count && press->run.going; i++) {
		const struct preroll_entry entry = preroll_at(&press->preroll, i);

		press_run_record(press, entry.cell, &entry.reading);
	}
	press->run.silently = false;
	preroll_clear(&press->preroll);
}

/* ---- it goes on */

void press_run_feed(struct press *press, const struct sample *sample)
{
	struct run *run = &press->run;

	if (run->over) /* a reading may complete more samples than the run still needs */
		return;
	run->over = judge_feed(press->judge, sample);
	enum phase phase = judge_phase(press->judge);
	press_watch_feed(&press->watch, sample, sum_shares(&press->sum), phase);
	bool changed = phase != run->phase;
	run->phase = phase;
	if (run->silently)
		return;
	press_tell_running(press, sample, changed);
	/* The maximum is behind us: it must not be lost with the next 250 ms. */
	if (changed && phase == PHASE_DECLINING)
		writer_flush(press->world.writer);
}

enum scale_error press_run_record(struct press *press, size_t cell, const struct reading *reading)
{
	if (!writer_put_reading(press->world.writer, press->index, cell, reading)) {
		log_line(LOG_ERROR,
			"press %s: the run ends here: the disk refuses and the memory for readings "
			"is full",
			press_name(press));
		writer_lose(press->world.writer, press->index, press_name(press), 1, 0,
			now_utc_at(reading->time));
		press_run_close(press);
		return SCALE_OK;
	}
	press->run.reading_count++;
	enum scale_error error = press_feed(press, cell, reading);
	if (press->run.over)
		press_run_close(press);
	return error;
}

/* ---- it ends */

static struct writer_note *make_close_note(struct press *press)
{
	struct run *run = &press->run;
	struct writer_note *note = writer_note_create(WRITER_RUN_CLOSE);

	assert(note);
	note->press = press->index;
	judge_finish(press->judge, &note->close.outcome.judgement);
	outcome_derive(
		&note->close.outcome, run->method, run->has_specimen ? &run->specimen : NULL);
	press_watch_finish(&press->watch, &note->close.outcome);
	note->close.ended = now_utc();
	note->close.origin = run->origin;
	note->close.started = run->started;
	note->close.reading_count = run->reading_count;
	if (run->has_specimen)
		memcpy(note->close.specimen_id, run->specimen.id, sizeof note->close.specimen_id);
	return note;
}

void press_run_close(struct press *press)
{
	assert(press->run.going);
	struct writer_note *note = make_close_note(press);

	for (size_t i = 0; i < press->cell_count; i++)
		cell_count_errors(press->cells[i]);

	uv_timer_stop(&press->stopped_timer);
	if (!writer_put(press->world.writer, note)) {
		log_line(LOG_ERROR,
			"press %s: the end of the run cannot be kept: the disk refuses for too "
			"long; it is derived from the readings at the next start",
			press_name(press));
		writer_note_destroy(note);
	}
	judge_give_back(press->judge);
	press->run = (struct run){.going = false};
	press_init_sum(press); /* with the zeros that were set meanwhile */
	/* What belonged to this run must not begin the next. */
	preroll_clear(&press->preroll);
	contact_init(&press->contact);
	press->contact_made = false;
}

/* ---- it is taken up again */

void press_resume_begin(struct press *press, int64_t run, const struct run_start *start)
{
	assert(!press->run.going);
	press->run = (struct run){
		.going = true,
		.silently = true,
		.number = run,
		.method = start->judged_by,
		.has_specimen = start->has_specimen,
		.specimen = start->specimen,
		.origin = start->origin,
		.started = start->started,
	};
	assert(press->run.method);
	press->run_stood = start->standing;
	sum_reset(&press->sum);
	judge_start(press->judge, &start->plan);
	watch_run(press, start);
}

void press_resume_reading(struct press *press, size_t cell, const struct reading *reading)
{
	press->run.reading_count++;
	press_feed(press, cell, reading);
}

void press_resume_end(struct press *press)
{
	const struct event *events = NULL;

	press->run.silently = false;
	press->run.event_count = judge_events(press->judge, &events);
	press->run.watch_event_count = press_watch_events(&press->watch, &events);
	if (press->run.over)
		press_run_close(press);
	else
		press_watch_cells(press);
}

/* ---- what the writer says of it */

void press_note_done(struct press *press, const struct writer_note *note)
{
	bool opening = note->kind == WRITER_RUN_OPEN;

	if (note->status != STORE_OK) {
		log_line(LOG_ERROR, "press %s: the database refuses to %s a run: %s",
			press_name(press), opening ? "open" : "close", note->why.text);
	} else if (opening) {
		press->run_stood = note->start.standing;
		if (press->run.going && !press->run.number)
			press->run.number = note->run;
		press_tell_opened(press, note);
	} else {
		press_tell_closed(press, note);
	}
}
