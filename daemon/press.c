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
#include "result/press_watch.h"
#include "stance.h"
#include "wire/live.h"
#include "wire/outcome_json.h"

#include <assert.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A cable put back within this time goes on with the run; later the specimen has seen too much. */
static const uint64_t STOPPED_MS = 10 * 1000;

/* A zero is less than this part of the capacity: 2 %. */
enum { ZERO_PART_MOST = 50 };

struct run {
	bool going;
	bool over;      /* the judge has said so; to be closed when the sum has returned */
	bool silently;  /* samples of the past are fed: nothing to show to anybody */
	int64_t number; /* 0: the writer has not told it yet */
	int64_t reading_count;
	size_t event_count; /* told */
	size_t watch_event_count;
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
	struct scale scales[SUM_CELLS_MAX]; /* in force: as configured, with the zeros on record */
	struct sum sum;
	struct stance stance;
	struct press_watch watch;  /* of the run going on */
	struct standing run_stood; /* the press's standing when the last run opened */
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

static void tell_event(struct press *press, const struct event *event)
{
	char buffer[LIVE_LINE_SIZE];
	struct text line;

	text_init(&line, buffer, sizeof buffer);
	live_write_event(&line, press_name(press), event, press->run.origin);
	clients_send(press->world.clients, (int)press->index, buffer, line.length);
	log_line(LOG_INFO, "press %s: %s: %s", press_name(press), event_kind_text(event->kind),
		event->text);
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

/* What is to say of the press between its runs, if it is not what was said last. */
static void tell_notices(struct press *press)
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

void press_look(struct press *press)
{
	tell_notices(press);
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
		live.has_thrust = press->watch.thrust.known;
		live.thrust_x_um = press->watch.thrust.x_um;
		live.thrust_y_um = press->watch.thrust.y_um;
		tell_sample(press, &live, changed);
	}
	/* The maximum is behind us: it must not be lost with the next 250 ms. */
	if (changed && phase == PHASE_DECLINING)
		writer_flush(press->world.writer);
}

/* ---- a run ends */

static void init_sum(struct press *press)
{
	sum_init(&press->sum, press->cell_count, press->scales, press->config->capacity_un);
}

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
	judge_give_back(press->judge);
	press->run = (struct run){.going = false};
	init_sum(press); /* with the zeros that were set meanwhile */
	/* What belonged to this run must not begin the next. */
	preroll_clear(&press->preroll);
	contact_init(&press->contact);
	press->contact_made = false;
}

/* ---- samples and readings */

static void take_sample(void *context, const struct sample *sample)
{
	struct press *press = context;

	bool fresh =
		stance_feed(&press->stance, sample, sum_shares(&press->sum), !press->run.going);
	if (!press->run.going) {
		press->contact_made = contact_feed(&press->contact, &press->next_plan, sample) ||
				      press->contact_made;
		tell_idle(press, sample);
		if (fresh)
			tell_notices(press);
		return;
	}
	if (press->run.over) /* a reading may complete more samples than the run still needs */
		return;
	press->run.over = judge_feed(press->judge, sample);
	press_watch_feed(&press->watch, sample, sum_shares(&press->sum), judge_phase(press->judge));
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
		writer_lose(press->world.writer, press->index, press_name(press), 1, 0,
			now_utc_at(reading->time));
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
	/* An alignment check without a specimen would take the test that follows, and its specimen
	 * would have none. */
	if (specimen && press->run.going && !press->run.has_specimen &&
		press->run.phase == PHASE_RELEASED)
		close_run(press);
	set_seat(press, specimen);
	clients_send_json(press->world.clients, (int)press->index,
		live_json_seated(press_name(press), press->has_seated ? &press->seated : NULL));
	tell_notices(press);
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

/* ---- verification, upkeep, zero */

void press_set_upkeep(struct press *press, const struct standing *standing, struct utc_time care)
{
	press->stance.standing = *standing;
	press->stance.care = care;
	tell_notices(press);
}

size_t press_cell_count(const struct press *press)
{
	return press->cell_count;
}

const char *press_cell_name(const struct press *press, size_t cell)
{
	assert(cell < press->cell_count);
	return press->world.config->cells[press->config->cells[cell]].section.name;
}

const struct scale *press_scale(const struct press *press, size_t cell)
{
	assert(cell < press->cell_count);
	return &press->scales[cell];
}

void press_set_zero(struct press *press, size_t cell, const struct zero_entry *entry)
{
	struct scale *scale = &press->scales[cell];

	if (entry->scale.unit != scale->unit ||
		entry->scale.factor.mantissa != scale->factor.mantissa ||
		entry->scale.factor.exponent != scale->factor.exponent) {
		log_line(LOG_WARNING,
			"press %s: the zero of cell %s was set for another unit or factor and does "
			"not hold any more: zero the press again",
			press_name(press), press_cell_name(press, cell));
		return;
	}
	scale->zero_un = entry->scale.zero_un;
	if (!press->run.going)
		init_sum(press);
}

/* A run in which nothing was loaded yet: the zero alone may have made it. */
static bool is_empty_run(const struct press *press)
{
	return !press->run.has_specimen && press->run.phase <= PHASE_SEATING;
}

bool press_take_zero(struct press *press, struct writer_note *note, struct message *why)
{
	struct level_mean mean;

	if (press->run.going && !is_empty_run(press))
		return message_set(
			why, "press %s is loading: zero it when nothing bears", press_name(press));
	if (!stance_level(&press->stance, &mean))
		return message_set(why,
			"press %s has not stood still for two seconds, or a cell sends nothing: "
			"wait and try again",
			press_name(press));
	if (llabs(mean.load_un) > press->config->capacity_un / ZERO_PART_MOST)
		return message_set(why,
			"press %s reads %.3f kN, more than 2 %% of its capacity: that is no zero; "
			"clear the block, see to the cells",
			press_name(press), (double)mean.load_un * 1e-9);
	if (press->run.going)
		close_run(press);
	note->zero.count = press->cell_count;
	for (size_t i = 0; i < press->cell_count; i++) {
		struct zero_entry *entry = &note->zero.entries[i];

		snprintf(entry->press, sizeof entry->press, "%s", press_name(press));
		snprintf(entry->cell, sizeof entry->cell, "%s", press_cell_name(press, i));
		entry->before_un = press->scales[i].zero_un;
		entry->scale = press->scales[i];
		entry->scale.zero_un += mean.cells_un[i];
	}
	return true;
}

void press_use_zero(struct press *press, const struct writer_note *note)
{
	assert(note->zero.count == press->cell_count);
	for (size_t i = 0; i < press->cell_count; i++) {
		press_set_zero(press, i, &note->zero.entries[i]);
		log_line(LOG_WARNING, "press %s: cell %s zeroed at %.3f kN", press_name(press),
			press_cell_name(press, i), (double)press->scales[i].zero_un * 1e-9);
	}
	stance_forget_zero(&press->stance);
	if (press->run.going)
		return;
	preroll_clear(&press->preroll);
	contact_init(&press->contact);
	tell_notices(press);
}

/* ---- a run taken up again */

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
	sum_feed(&press->sum, cell, reading, take_sample, press);
}

void press_resume_end(struct press *press)
{
	const struct event *events = NULL;

	press->run.silently = false;
	press->run.event_count = judge_events(press->judge, &events);
	press->run.watch_event_count = press_watch_events(&press->watch, &events);
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

	press->run_stood = start->standing;
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
	struct utc_time now = now_utc();
	stance_standing(&press->stance, now, &status->standing);
	stance_notices(&press->stance, press->has_seated ? &press->seated : NULL, !press->run.going,
		now, &status->notices);
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
	for (size_t i = 0; i < press->cell_count; i++)
		press->scales[i] = world->config->cells[press->config->cells[i]].scale;
	init_sum(press);
	stance_init(&press->stance, press->config);
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
