/* SPDX-License-Identifier: MIT
 *
 * The watch. A zero counts that stood still for a second before contact; an eccentric load that
 * lasted as long.
 */
#include "result/press_watch.h"

#include <assert.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

/* How long a fracture shakes the cells, and how many readings after it tell what they read. */
static const int64_t SHAKE_NS = LEVEL_BLOCK_NS / 2;
enum { REST_COUNT_LEAST = 2 };

void press_watch_start(struct press_watch *watch, const struct press_watch_plan *plan,
	size_t cell_count, const struct plan *run, const struct specimen *specimen)
{
	*watch = (struct press_watch){.plan = *plan,
		.cell_count = cell_count,
		.contact_un = run->contact_un,
		.watches_rest = run->policy.rules >= 4,
		.rest_since_ns = INT64_MAX};
	level_init(&watch->idle, cell_count);
	level_init(&watch->loaded, cell_count);
	if (specimen)
		bearing_fits(&plan->block, specimen, &watch->block);
}

static void add_event(struct press_watch *watch, enum event_kind kind, const struct sample *sample,
	const char *format, ...) __attribute__((format(printf, 4, 5)));

static void add_event(struct press_watch *watch, enum event_kind kind, const struct sample *sample,
	const char *format, ...)
{
	va_list arguments;

	assert(watch->event_count < PRESS_WATCH_EVENTS_MAX);
	struct event *event = &watch->events[watch->event_count++];
	*event = (struct event){kind, sample->time, sample->load_un, ""};
	va_start(arguments, format);
	vsnprintf(event->text, sizeof event->text, format, arguments);
	va_end(arguments);
}

static double kilonewton(int64_t load_un)
{
	return (double)load_un * 1e-9;
}

static void judge_zero(struct press_watch *watch, const struct sample *sample)
{
	const struct press_watch_plan *plan = &watch->plan;
	int64_t zero_un = watch->zero_un, drift_un = zero_un - plan->zero_before_un;

	if (plan->zero_limit_un > 0 && llabs(zero_un) > plan->zero_limit_un)
		add_event(watch, EVENT_ZERO_OFFSET, sample,
			"the unloaded press read %.3f kN before contact, beyond %.3f kN",
			kilonewton(zero_un), kilonewton(plan->zero_limit_un));
	if (plan->drift_limit_un > 0 && plan->has_zero_before &&
		llabs(drift_un) > plan->drift_limit_un)
		add_event(watch, EVENT_ZERO_DRIFT, sample,
			"the zero has moved by %.3f kN since the last run, beyond %.3f kN",
			kilonewton(drift_un), kilonewton(plan->drift_limit_un));
}

int64_t press_watch_steady_un(int64_t zero_limit_un, int64_t drift_limit_un, int64_t contact_un)
{
	const int64_t limits[] = {zero_limit_un / 2, drift_limit_un / 2};
	int64_t steady_un = contact_un / 4;

	for (size_t i = 0; i < sizeof(limits) / sizeof(limits[0]); i++) {
		if (limits[i] > 0 && limits[i] < steady_un)
			steady_un = limits[i];
	}
	return steady_un;
}

/* The first second of the record is looked at, or the first one that stood still. */
static void feed_zero(
	struct press_watch *watch, const struct sample *sample, const int64_t *cells_un)
{
	struct level_mean mean;

	if (!watch->touched && sample->load_un >= watch->contact_un)
		watch->touched = true;
	if (watch->touched || watch->has_zero)
		return;
	level_feed(&watch->idle, sample, cells_un);
	int64_t steady_un = press_watch_steady_un(
		watch->plan.zero_limit_un, watch->plan.drift_limit_un, watch->contact_un);
	if (!level_read(&watch->idle, PRESS_WATCH_BLOCKS, steady_un, &mean))
		return;
	watch->has_zero = true;
	watch->zero_un = mean.load_un;
	judge_zero(watch, sample);
}

/* The load is off: after the shake of a fracture, what the press reads then. */
static void feed_rest(struct press_watch *watch, const struct sample *sample)
{
	watch->last = *sample;
	if (!watch->touched || sample->load_un >= watch->contact_un / 2) {
		watch->rest_since_ns = INT64_MAX;
		watch->rest_count = watch->rest_sum_un = 0;
		return;
	}
	if (watch->rest_since_ns == INT64_MAX)
		watch->rest_since_ns = sample->time.ns;
	if (sample->time.ns - watch->rest_since_ns < SHAKE_NS)
		return;
	watch->rest_count++;
	watch->rest_sum_un += sample->load_un;
}

/* More than the zero may stay on a broken specimen. Less than it is an indicator that took another
 * zero in mid-run, as one does that was switched off and on under load: what it read since is
 * wrong by as much. */
static void judge_rest(struct press_watch *watch)
{
	int64_t before_un = watch->has_zero ? watch->zero_un : watch->plan.zero_before_un;

	if (!watch->watches_rest || watch->rest_count < REST_COUNT_LEAST ||
		watch->plan.zero_limit_un == 0 ||
		(!watch->has_zero && !watch->plan.has_zero_before))
		return;
	watch->watches_rest = false; /* once is enough */
	int64_t rest_un = watch->rest_sum_un / watch->rest_count;
	if (rest_un >= before_un - watch->plan.zero_limit_un)
		return;
	add_event(watch, EVENT_ZERO_DRIFT, &watch->last,
		"unloaded the press reads %.3f kN after the run and %.3f kN before: its zero moved "
		"in the run, and the loads since are wrong by that",
		kilonewton(rest_un), kilonewton(before_un));
}

static void judge_point(
	struct press_watch *watch, const struct sample *sample, const struct thrust_place *point)
{
	struct outcome_thrust *thrust = &watch->thrust;
	int64_t distance_um = thrust_distance_um(point), limit_um = watch->plan.thrust_limit_um;

	if (!thrust->known || distance_um > thrust->worst_um) {
		thrust->worst_um = distance_um;
		thrust->worst_at = sample->time;
	}
	thrust->known = true;
	thrust->x_um = point->x_um;
	thrust->y_um = point->y_um;
	bool beyond = limit_um > 0 && distance_um > limit_um;
	bool told = watch->eccentric_blocks >= PRESS_WATCH_BLOCKS;
	if (told)
		return;
	watch->eccentric_blocks = beyond ? watch->eccentric_blocks + 1 : 0;
	if (watch->eccentric_blocks == PRESS_WATCH_BLOCKS)
		add_event(watch, EVENT_ECCENTRIC, sample,
			"the load acts %.1f mm from the centre (x %.1f, y %.1f), beyond %.1f mm: "
			"centre the specimen",
			(double)distance_um * 1e-3, (double)point->x_um * 1e-3,
			(double)point->y_um * 1e-3, (double)limit_um * 1e-3);
}

static void feed_thrust(struct press_watch *watch, const struct sample *sample,
	const int64_t *cells_un, enum phase phase)
{
	const struct press_watch_plan *plan = &watch->plan;
	bool bears = phase >= PHASE_SEATING && phase <= PHASE_YIELDING;
	size_t before = watch->loaded.total;
	struct thrust_place point;
	struct level_mean mean;

	if (plan->place_count != watch->cell_count ||
		!thrust_is_told(plan->places, plan->place_count))
		return;
	if (!bears) {
		level_init(&watch->loaded, watch->cell_count);
		return;
	}
	level_feed(&watch->loaded, sample, cells_un);
	if (watch->loaded.total == before || !level_read(&watch->loaded, 1, INT64_MAX, &mean) ||
		mean.load_un < plan->thrust_least_un)
		return;
	if (thrust_point(plan->places, mean.cells_un, plan->place_count, &point))
		judge_point(watch, sample, &point);
}

void press_watch_feed(struct press_watch *watch, const struct sample *sample,
	const int64_t *cells_un, enum phase phase)
{
	if (!watch->begun && watch->block.text[0])
		add_event(watch, EVENT_SMALL_BLOCK, sample, "%.*s", EVENT_TEXT_SIZE - 1,
			watch->block.text);
	watch->begun = true;
	feed_zero(watch, sample, cells_un);
	feed_rest(watch, sample);
	feed_thrust(watch, sample, cells_un, phase);
}

size_t press_watch_events(const struct press_watch *watch, const struct event **events)
{
	*events = watch->events;
	return watch->event_count;
}

static bool has_event(const struct judgement *judgement, enum event_kind kind)
{
	for (size_t i = 0; i < judgement->event_count; i++) {
		if (judgement->events[i].kind == kind)
			return true;
	}
	return false;
}

/* In its place by time; of more than there is room for, the judge's stay. */
static void insert_event(struct judgement *judgement, const struct event *event)
{
	size_t at = judgement->event_count;

	judgement->event_total++;
	if (judgement->event_count == JUDGE_EVENTS_MAX)
		return;
	for (; at > 0 && judgement->events[at - 1].time.ns > event->time.ns; at--)
		judgement->events[at] = judgement->events[at - 1];
	judgement->events[at] = *event;
	judgement->event_count++;
}

void press_watch_finish(struct press_watch *watch, struct outcome *outcome)
{
	judge_rest(watch);
	outcome->thrust = watch->thrust;
	for (size_t i = 0; i < watch->event_count; i++) {
		/* The judge compares the zero with the run's maximum; once told is enough. */
		if (watch->events[i].kind == EVENT_ZERO_OFFSET &&
			has_event(&outcome->judgement, EVENT_ZERO_OFFSET))
			continue;
		insert_event(&outcome->judgement, &watch->events[i]);
	}
}
