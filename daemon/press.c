/* SPDX-License-Identifier: MIT
 *
 *   idle --contact--> running --the judge says over, or the cells stopped, or the end--> idle
 *
 * Here: the press itself, its cells, what is seated and its zero. Idle, readings go to the pre-roll
 * and through the sum to the contact detector; running, they are the run's (press_run.c).
 * A run begins or ends after sum_feed has returned, never inside its callback.
 */
#include "log.h"
#include "press_inside.h"
#include "wire/live.h"

#include <assert.h>
#include <stdio.h>
#include <stdlib.h>

/* A cable put back within this time goes on with the run; later the specimen has seen too much. */
static const uint64_t STOPPED_MS = 10 * 1000;

/* A zero is less than this part of the capacity: 2 %. */
enum { ZERO_PART_MOST = 50 };

static void on_stopped(uv_timer_t *timer);

const char *press_name(const struct press *press)
{
	return press->config->section.name;
}

/* ---- samples and readings */

void press_init_sum(struct press *press)
{
	sum_init(&press->sum, press->cell_count, press->scales, press->config->capacity_un);
}

static void take_sample(void *context, const struct sample *sample)
{
	struct press *press = context;
	bool idle = !press->run.going;

	bool fresh = stance_feed(&press->stance, sample, sum_shares(&press->sum), idle);
	if (!idle) {
		press_run_feed(press, sample);
		return;
	}
	press->contact_made =
		contact_feed(&press->contact, &press->next_plan, sample) || press->contact_made;
	/* The next contact is another loading, and one more that is refused. */
	if (!press->contact.touching)
		press->refusing = false;
	press_tell_idle(press, sample);
	if (fresh)
		press_tell_notices(press);
}

enum scale_error press_feed(struct press *press, size_t cell, const struct reading *reading)
{
	return sum_feed(&press->sum, cell, reading, take_sample, press);
}

enum scale_error press_take_reading(void *context, size_t cell, const struct reading *reading)
{
	struct press *press = context;

	if (press->run.going)
		return press_run_record(press, cell, reading);
	preroll_put(&press->preroll, cell, reading);
	enum scale_error error = press_feed(press, cell, reading);
	if (press->contact_made)
		press_run_start(press);
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

void press_set_seat(struct press *press, const struct specimen *specimen)
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
		press_run_close(press);
	press_set_seat(press, specimen);
	clients_send_json(press->world.clients, (int)press->index,
		live_json_seated(press_name(press), press->has_seated ? &press->seated : NULL));
	press_tell_notices(press);
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

void press_watch_cells(struct press *press)
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
	press_run_close(press);
}

static void on_cell_changed(void *context, size_t index)
{
	struct press *press = context;
	struct status_cell status;

	cell_status(press->cells[index], &status);
	clients_send_json(press->world.clients, (int)press->index,
		live_json_cell(press_name(press), &status));
	press_watch_cells(press);
}

/* ---- verification, upkeep, zero */

void press_set_upkeep(struct press *press, const struct standing *standing, struct utc_time care)
{
	press->stance.standing = *standing;
	press->stance.care = care;
	press_tell_notices(press);
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
		press_init_sum(press);
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
		press_run_close(press);
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
	press_tell_notices(press);
}

/* ---- life */

static bool make_cells(struct press *press)
{
	struct cell_hooks hooks = {press, press_take_reading, on_cell_changed};

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
	press_init_sum(press);
	stance_init(&press->stance, press->config);
	contact_init(&press->contact);
	press_set_seat(press, NULL);
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
		press_run_close(press);
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
