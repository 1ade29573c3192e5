/* SPDX-License-Identifier: MIT
 *
 *   idle --contact--> running --the judge says over, or the cells stopped, or the end--> idle
 *
 * Idle: readings go to the pre-roll and through the sum to the contact detector.
 * Running: each reading goes to the writer first and then through the sum to the judge; one that
 * the writer cannot take ends the run, since a run with a hole cannot be derived again.
 * A run begins or ends after sum_feed has returned, never inside its callback.
 */
#include "press.h"

#include "cell.h"
#include "log.h"
#include "now.h"
#include "preroll.h"
#include "wire/live.h"
#include "wire/outcome_json.h"

#include <assert.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A cable put back within this time goes on with the run; later the specimen has seen too much. */
static const uint64_t STOPPED_MS = 10 * 1000;

struct run {
	bool going;
	bool over;      /* the judge has said so; to be closed when the sum has returned */
	bool silently;  /* samples of the past are fed: nothing to show to anybody */
	int64_t number; /* 0: the writer has not told it yet */
	int64_t reading_count;
	size_t event_count; /* told */
	enum phase phase;
	const struct method *method;
	bool has_specimen;
	struct specimen specimen;
	struct mono_time origin;
	struct utc_time started;
};

struct press {
	struct press_world world;
	size_t index;
	const struct config_press *config;
	size_t cell_count;
	struct cell *cells[SUM_CELLS_MAX];
	struct sum sum;
	struct preroll preroll;
	struct contact contact;
	bool contact_made;
	struct judge *judge;
	bool has_seated;
	struct specimen seated;
	const struct method *next_method;
	struct plan next_plan;
	struct run run;
	bool refusing; /* contact was made and there was no room to record */
	uv_timer_t stopped_timer;
};

static void on_stopped(uv_timer_t *timer);

const char *press_name(const struct press *press)
{
	return press->config->section.name;
}

/* ---- what watchers and log hear */

static void tell_sample(struct press *press, const struct live *live, bool changed)
{
	clients_send_live(press->world.clients, press->index, press_name(press), live->time,
		changed, live, press->run.going ? press->run.origin : live->time);
}

static void tell_idle(struct press *press, const struct sample *sample)
{
	if (!clients_want_live(press->world.clients, press->index, sample->time, false))
		return;
	struct live live = {.phase = PHASE_IDLE, .time = sample->time, .load_un = sample->load_un};
	tell_sample(press, &live, false);
}

static void tell_events(struct press *press)
{
	const struct event *events = NULL;
	size_t count = judge_events(press->judge, &events);
	char buffer[LIVE_LINE_SIZE];
	struct text line;

	for (; press->run.event_count < count; press->run.event_count++) {
		const struct event *event = &events[press->run.event_count];

		text_init(&line, buffer, sizeof buffer);
		live_write_event(&line, press_name(press), event, press->run.origin);
		clients_send(press->world.clients, (int)press->index, buffer, line.length);
		log_line(LOG_INFO, "press %s: %s: %s", press_name(press),
			event_kind_text(event->kind), event->text);
	}
}

static void tell_running(struct press *press, const struct sample *sample)
{
	enum phase phase = judge_phase(press->judge);
	bool changed = phase != press->run.phase;

	press->run.phase = phase;
	if (press->run.silently)
		return;
	tell_events(press);
	if (clients_want_live(press->world.clients, press->index, sample->time, changed)) {
		struct live live;

		judge_live(press->judge, &live);
		tell_sample(press, &live, changed);
	}
	/* The maximum is behind us: it must not be lost with the next 250 ms. */
	if (changed && phase == PHASE_DECLINING)
		writer_flush(press->world.writer);
}

/* ---- a run ends */

static struct writer_note *make_close_note(struct press *press)
{
	struct run *run = &press->run;
	struct writer_note *note = writer_note_create(WRITER_RUN_CLOSE);

	assert(note);
	note->press = press->index;
	judge_finish(press->judge, &note->close.outcome.judgement);
	outcome_derive(
		&note->close.outcome, run->method, run->has_specimen ? &run->specimen : NULL);
	note->close.ended = now_utc();
	note->close.origin = run->origin;
	note->close.started = run->started;
	note->close.reading_count = run->reading_count;
	if (run->has_specimen)
		memcpy(note->close.specimen_id, run->specimen.id, sizeof note->close.specimen_id);
	return note;
}

static void close_run(struct press *press)
{
	assert(press->run.going);
	struct writer_note *note = make_close_note(press);

	uv_timer_stop(&press->stopped_timer);
	if (!writer_put(press->world.writer, note)) {
		log_line(LOG_ERROR,
			"press %s: the end of the run cannot be kept: the disk refuses for too "
			"long; it is derived from the readings at the next start",
			press_name(press));
		writer_note_destroy(note);
	}
	press->run = (struct run){.going = false};
	/* What belonged to this run must not begin the next. */
	preroll_clear(&press->preroll);
	contact_init(&press->contact);
	press->contact_made = false;
}

/* ---- samples and readings */

static void take_sample(void *context, const struct sample *sample)
{
	struct press *press = context;

	if (!press->run.going) {
		press->contact_made = contact_feed(&press->contact, &press->next_plan, sample) ||
				      press->contact_made;
		tell_idle(press, sample);
		return;
	}
	if (press->run.over) /* a reading may complete more samples than the run still needs */
		return;
	press->run.over = judge_feed(press->judge, sample);
	tell_running(press, sample);
}

/* The run may have ended when this returns. */
static enum scale_error record(struct press *press, size_t cell, const struct reading *reading)
{
	if (!writer_put_reading(press->world.writer, press->index, cell, reading)) {
		log_line(LOG_ERROR,
			"press %s: the run ends here: the disk refuses and the memory for readings "
			"is full",
			press_name(press));
		close_run(press);
		return SCALE_OK;
	}
	press->run.reading_count++;
	enum scale_error error = sum_feed(&press->sum, cell, reading, take_sample, press);
	if (press->run.over)
		close_run(press);
	return error;
}

/* ---- the specimen */

/* The plan for the next run with this specimen (NULL: none). False: it cannot be tested here. */
static bool make_plan(const struct press *press, const struct specimen *specimen,
	const struct method **method, struct plan *plan, struct message *why)
{
	const char *name =
		specimen && specimen->method[0] ? specimen->method : press->config->method->name;

	*method = method_find(name);
	if (!*method)
		return message_set(why, "specimen %s names the method \"%s\", which is not known",
			specimen->id, name);
	if (!method_plan(*method, specimen, plan, why))
		return false;
	plan->contact_un = press->config->contact_un;
	return true;
}

static void set_seat(struct press *press, const struct specimen *specimen)
{
	struct message why = {""};
	struct specimen seated;

	if (specimen)
		seated = *specimen; /* it may be press->seated itself */
	press->has_seated = specimen && make_plan(press, specimen, &press->next_method,
						&press->next_plan, &why);
	if (press->has_seated) {
		press->seated = seated;
	} else {
		if (specimen)
			log_line(LOG_ERROR, "press %s: specimen %s is not seated: %s",
				press_name(press), specimen->id, why.text);
		bool ok = make_plan(press, NULL, &press->next_method, &press->next_plan, &why);
		assert(ok);
	}
}

void press_seat(struct press *press, const struct specimen *specimen)
{
	set_seat(press, specimen);
	clients_send_json(press->world.clients, (int)press->index,
		live_json_seated(press_name(press), press->has_seated ? &press->seated : NULL));
}

/* ---- a run begins */

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
		cell->scale = config->scale;
	}
}

static struct writer_note *make_open_note(struct press *press)
{
	struct writer_note *note = writer_note_create(WRITER_RUN_OPEN);

	assert(note);
	struct run_start *start = &note->start;
	note->press = press->index;
	snprintf(start->press, sizeof start->press, "%s", press_name(press));
	snprintf(start->method, sizeof start->method, "%s", press->next_method->name);
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
	return note;
}

/* False: nothing can be recorded now. */
static bool open_run(struct press *press)
{
	struct writer_note *note = NULL;

	if (writer_has_room(press->world.writer))
		note = make_open_note(press);
	if (!note || !writer_put(press->world.writer, note)) {
		writer_note_destroy(note);
		if (!press->refusing)
			log_line(LOG_ERROR,
				"press %s: NOT RECORDED: a loading begins, but the disk refuses and"
				" the memory for readings is full",
				press_name(press));
		press->refusing = true;
		return false;
	}
	press->refusing = false;
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

static void start_run(struct press *press)
{
	press->contact_made = false;
	if (!open_run(press))
		return;
	sum_reset(&press->sum);
	judge_start(press->judge, &press->next_plan);
	/* Taken by this run, which its opening tells the watchers. */
	set_seat(press, NULL);
	press->run.silently = true;
	for (size_t i = 0; i < press->preroll.count && press->run.going; i++) {
		const struct preroll_entry entry = preroll_at(&press->preroll, i);

		record(press, entry.cell, &entry.reading);
	}
	press->run.silently = false;
	preroll_clear(&press->preroll);
}

static enum scale_error on_reading(void *context, size_t cell, const struct reading *reading)
{
	struct press *press = context;

	if (press->run.going)
		return record(press, cell, reading);
	preroll_put(&press->preroll, cell, reading);
	enum scale_error error = sum_feed(&press->sum, cell, reading, take_sample, press);
	if (press->contact_made)
		start_run(press);
	return error;
}

/* ---- cells that stop */

static bool all_ready(const struct press *press)
{
	for (size_t i = 0; i < press->cell_count; i++) {
		if (!cell_is_ready(press->cells[i]))
			return false;
	}
	return true;
}

static void watch_cells(struct press *press)
{
	if (!press->run.going || all_ready(press))
		uv_timer_stop(&press->stopped_timer);
	else if (!uv_is_active((uv_handle_t *)&press->stopped_timer))
		uv_timer_start(&press->stopped_timer, on_stopped, STOPPED_MS, 0);
}

static void on_stopped(uv_timer_t *timer)
{
	struct press *press = timer->data;

	log_line(LOG_WARNING, "press %s: a cell has been away for 10 s: the run ends here",
		press_name(press));
	close_run(press);
}

static void on_cell_changed(void *context, size_t index)
{
	struct press *press = context;
	struct status_cell status;

	cell_status(press->cells[index], &status);
	clients_send_json(press->world.clients, (int)press->index,
		live_json_cell(press_name(press), &status));
	watch_cells(press);
}

/* ---- a run taken up again */

void press_resume_begin(struct press *press, int64_t run, const struct run_start *start)
{
	assert(!press->run.going);
	press->run = (struct run){
		.going = true,
		.silently = true,
		.number = run,
		.method = method_find(start->method),
		.has_specimen = start->has_specimen,
		.specimen = start->specimen,
		.origin = start->origin,
		.started = start->started,
	};
	assert(press->run.method);
	sum_reset(&press->sum);
	judge_start(press->judge, &start->plan);
}

void press_resume_reading(struct press *press, size_t cell, const struct reading *reading)
{
	press->run.reading_count++;
	sum_feed(&press->sum, cell, reading, take_sample, press);
}

void press_resume_end(struct press *press)
{
	const struct event *events = NULL;

	press->run.silently = false;
	press->run.event_count = judge_events(press->judge, &events);
	if (press->run.over)
		close_run(press);
	else
		watch_cells(press);
}

/* ---- what the writer says */

static void tell_opened(struct press *press, const struct writer_note *note)
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
	if (press->run.going && !press->run.number)
		press->run.number = note->run;
	log_line(LOG_INFO, "press %s: run %lld opened, %s%s", press_name(press),
		(long long)note->run, start->has_specimen ? "specimen " : "no specimen seated",
		start->has_specimen ? start->specimen.id : "");
	clients_send_json(press->world.clients, (int)press->index,
		live_json_run_open(press_name(press), &run));
}

static void tell_closed(struct press *press, const struct writer_note *note)
{
	const struct outcome *outcome = &note->close.outcome;
	const char *verdict = verdict_text(outcome->judgement.rate.verdict);
	struct outcome_head head = {
		.run = note->run,
		.press = press_name(press),
		.specimen = note->close.specimen_id,
		.started = note->close.started,
		.samples = note->close.reading_count,
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

void press_note_done(struct press *press, const struct writer_note *note)
{
	if (note->status != STORE_OK)
		log_line(LOG_ERROR, "press %s: the database refuses to %s a run: %s",
			press_name(press), note->kind == WRITER_RUN_OPEN ? "open" : "close",
			note->why.text);
	else if (note->kind == WRITER_RUN_OPEN)
		tell_opened(press, note);
	else
		tell_closed(press, note);
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
	snprintf(status->name, sizeof status->name, "%s", press_name(press));
	snprintf(status->method, sizeof status->method, "%s", press->config->method->name);
	for (size_t i = 0; i < press->cell_count; i++)
		cell_status(press->cells[i], &status->cells[i]);
}

/* ---- life */

static bool make_cells(struct press *press)
{
	struct cell_hooks hooks = {press, on_reading, on_cell_changed};

	for (size_t i = 0; i < press->config->cell_count; i++) {
		const struct config_cell *config =
			&press->world.config->cells[press->config->cells[i]];

		press->cells[i] = cell_create(
			press->world.loop, press->world.lines[config->line], config, i, &hooks);
		if (!press->cells[i])
			return false;
		press->cell_count++;
	}
	return true;
}

static void init_sum(struct press *press)
{
	struct scale scales[SUM_CELLS_MAX];

	for (size_t i = 0; i < press->cell_count; i++)
		scales[i] = press->world.config->cells[press->config->cells[i]].scale;
	sum_init(&press->sum, press->cell_count, scales, press->config->capacity_un);
}

struct press *press_create(const struct press_world *world, size_t index)
{
	struct press *press = calloc(1, sizeof *press);

	if (!press)
		return NULL;
	press->world = *world;
	press->index = index;
	press->config = &world->config->presses[index];
	uv_timer_init(world->loop, &press->stopped_timer);
	press->stopped_timer.data = press;
	press->judge = judge_create(JUDGE_TRACK_MAX);
	bool ok = press->judge && preroll_init(&press->preroll) && make_cells(press);
	assert(ok); /* at start, before anything could be lost */
	init_sum(press);
	contact_init(&press->contact);
	set_seat(press, NULL);
	return press;
}

void press_start(struct press *press)
{
	for (size_t i = 0; i < press->cell_count; i++)
		cell_start(press->cells[i]);
}

void press_stop(struct press *press)
{
	if (press->run.going)
		close_run(press);
	uv_close((uv_handle_t *)&press->stopped_timer, NULL);
	for (size_t i = 0; i < press->cell_count; i++)
		cell_stop(press->cells[i]);
}

void press_destroy(struct press *press)
{
	if (!press)
		return;
	for (size_t i = 0; i < press->cell_count; i++)
		cell_destroy(press->cells[i]);
	judge_destroy(press->judge);
	preroll_finish(&press->preroll);
	free(press);
}
