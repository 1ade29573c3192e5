/* SPDX-License-Identifier: MIT */
#include "monitor_state.h"

#include "draw/shown.h"
#include "result/method.h"
#include "wire/request.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

void monitor_state_init(struct monitor_state *state, const char *wanted)
{
	memset(state, 0, sizeof(*state));
	state->durable = true;
	message_set(&state->away, "not connected yet");
	if (wanted)
		snprintf(state->wanted, sizeof(state->wanted), "%s", wanted);
}

static struct monitor_press *find_press(struct monitor_state *state, const char *name)
{
	for (size_t i = 0; i < state->press_count; i++) {
		if (strcmp(state->presses[i].status.name, name) == 0)
			return &state->presses[i];
	}
	return NULL;
}

/* ---- the curve so far */

static void clear_track(struct monitor_press *press)
{
	press->track_count = 0;
	press->track_stride = 1;
	press->track_skipped = 0;
}

static void thin_track(struct monitor_press *press)
{
	size_t kept = 0;
	for (size_t i = 0; i < press->track_count; i += 2)
		press->track[kept++] = press->track[i];
	press->track_count = kept;
	press->track_stride *= 2;
}

static void add_point(struct monitor_press *press, const struct live *live)
{
	size_t count = press->track_count;
	if (count > 0 && live->time.ns < press->track[count - 1].time_ns)
		clear_track(press);
	if (press->track_skipped + 1 < press->track_stride) {
		press->track_skipped++;
		return;
	}
	press->track_skipped = 0;
	if (press->track_count == MONITOR_TRACK_MAX)
		thin_track(press);
	press->track[press->track_count++] =
		(struct monitor_point){.time_ns = live->time.ns, .load_un = live->load_un};
}

/* ---- lines about one press */

static void take_sample(
	struct monitor_press *press, const struct live *live, struct monitor_news *news)
{
	enum phase before = press->status.phase;
	bool begins = before == PHASE_IDLE || before == PHASE_RELEASED;
	bool loaded = live->phase != PHASE_IDLE && live->phase != PHASE_RELEASED;
	news->phase_changed = live->phase != before;
	news->advice_changed = press->has_live && live->advice != press->live.advice;
	if (news->phase_changed || news->advice_changed)
		news->kind = MONITOR_NEWS_LIVE;
	if (begins && loaded) {
		clear_track(press);
		press->has_event = false;
	}
	press->live = *live;
	press->has_live = true;
	press->status.phase = live->phase;
	if (loaded)
		add_point(press, live);
}

static void take_run_open(
	struct monitor_press *press, const struct live_run *run, struct monitor_news *news)
{
	news->kind = MONITOR_NEWS_RUN_OPEN;
	press->run = *run;
	press->status.run = run->run;
	/* What sat in the press is now in the run. */
	press->status.has_seated = false;
}

static const char *text_of(const json_t *object, const char *key)
{
	const char *text = json_string_value(json_object_get(object, key));
	return text ? text : "";
}

static void read_result(const json_t *outcome, struct monitor_result *result)
{
	memset(result, 0, sizeof(*result));
	result->run = json_integer_value(json_object_get(outcome, "run"));
	result->maximum_newton = json_number_value(json_object_get(outcome, "maximum_load_n"));
	result->fracture = (int)json_integer_value(json_object_get(outcome, "fracture"));
	snprintf(result->specimen, sizeof(result->specimen), "%s", text_of(outcome, "specimen"));
	snprintf(result->method, sizeof(result->method), "%s", text_of(outcome, "method"));
	snprintf(result->strength, sizeof(result->strength), "%s",
		text_of(outcome, "strength_reported"));
	/* A daemon that does not say so knows nothing of verification. */
	result->reportable = !json_is_false(json_object_get(outcome, "reportable"));
	snprintf(result->why.text, sizeof(result->why.text), "%s",
		text_of(outcome, "not_reportable"));
	/* A word unknown here leaves the value that says the least. */
	const json_t *rate = json_object_get(outcome, "rate");
	if (!verdict_parse(text_of(rate, "verdict"), &result->verdict))
		result->verdict = VERDICT_NONE;
	if (!end_parse(text_of(outcome, "end"), &result->end))
		result->end = END_INTERRUPTED;
}

static bool has_result(const struct monitor_press *press, int64_t run)
{
	for (size_t i = 0; i < press->result_count; i++) {
		if (press->results[i].run == run)
			return true;
	}
	return false;
}

/* Keeps the newest ones, by run number. */
static void add_result(struct monitor_press *press, const struct monitor_result *result)
{
	size_t at = 0;
	if (has_result(press, result->run))
		return;
	while (at < press->result_count && press->results[at].run > result->run)
		at++;
	if (at == MONITOR_RESULTS_MAX)
		return;
	if (press->result_count < MONITOR_RESULTS_MAX)
		press->result_count++;
	memmove(&press->results[at + 1], &press->results[at],
		(press->result_count - 1 - at) * sizeof(*press->results));
	press->results[at] = *result;
}

static void take_run_closed(
	struct monitor_press *press, const json_t *line, struct monitor_news *news)
{
	struct monitor_result result;
	read_result(json_object_get(line, "run_closed"), &result);
	news->kind = MONITOR_NEWS_RUN_CLOSED;
	press->status.run = 0;
	add_result(press, &result);
}

static void take_fracture(struct monitor_press *press, const struct live_fracture *fracture,
	struct monitor_news *news)
{
	news->kind = MONITOR_NEWS_FRACTURE;
	news->fracture = *fracture;
	for (size_t i = 0; i < press->result_count; i++) {
		if (press->results[i].run == fracture->run)
			press->results[i].fracture = fracture->type;
	}
}

static void take_cell(
	struct monitor_press *press, const struct status_cell *cell, struct monitor_news *news)
{
	news->kind = MONITOR_NEWS_CELL;
	news->cell = *cell;
	for (size_t i = 0; i < press->status.cell_count; i++) {
		if (strcmp(press->status.cells[i].name, cell->name) == 0)
			press->status.cells[i] = *cell;
	}
}

static void take_press_line(
	struct monitor_press *press, const struct live_line *line, struct monitor_news *news)
{
	switch (line->kind) {
	case LIVE_SAMPLE:
		take_sample(press, &line->sample, news);
		break;
	case LIVE_EVENT:
		news->kind = MONITOR_NEWS_EVENT;
		press->event = line->event;
		press->has_event = true;
		break;
	case LIVE_RUN_OPEN:
		take_run_open(press, &line->run_open, news);
		break;
	case LIVE_RUN_CLOSED:
		take_run_closed(press, line->json, news);
		break;
	case LIVE_FRACTURE:
		take_fracture(press, &line->fracture, news);
		break;
	case LIVE_CELL:
		take_cell(press, &line->cell, news);
		break;
	case LIVE_SEATED:
		news->kind = MONITOR_NEWS_SEATED;
		press->status.has_seated = line->has_specimen;
		press->status.seated = line->seated;
		break;
	case LIVE_NOTICES:
		news->kind = MONITOR_NEWS_NOTICES;
		press->status.notices = line->notices;
		press->status.reportable = line->reportable;
		break;
	case LIVE_DURABLE:
	case LIVE_STORED:
	case LIVE_OTHER:
		break;
	}
}

/* ---- answers */

static void take_status_press(struct monitor_state *state, const json_t *object)
{
	struct status_press status;
	if (!status_press_read(object, &status, NULL))
		return;
	struct monitor_press *press = find_press(state, status.name);
	if (!press) {
		if (state->press_count == MONITOR_PRESSES_MAX)
			return;
		press = &state->presses[state->press_count++];
		clear_track(press);
	}
	press->status = status;
	if (press->run.run != status.run)
		press->run = (struct live_run){.run = 0};
}

static void take_status(
	struct monitor_state *state, const json_t *answer, struct monitor_news *news)
{
	const json_t *list = json_object_get(answer, "presses");
	const json_t *durable = json_object_get(answer, "durable");
	bool first_time = state->press_count == 0;
	for (size_t i = 0; i < json_array_size(list); i++)
		take_status_press(state, json_array_get(list, i));
	snprintf(state->database, sizeof(state->database), "%s", text_of(answer, "database"));
	state->durable = !json_is_false(durable);
	state->known = true;
	news->kind = MONITOR_NEWS_STATUS;
	const struct monitor_press *wanted =
		state->wanted[0] ? find_press(state, state->wanted) : NULL;
	state->wanted_missing = state->wanted[0] && !wanted;
	if (wanted && first_time)
		state->shown = (size_t)(wanted - state->presses);
}

static void take_other(struct monitor_state *state, const json_t *line, struct monitor_news *news)
{
	if (!json_object_get(line, "ok"))
		return;
	if (!request_answer_read(line, &news->text))
		news->kind = MONITOR_NEWS_REFUSED;
	else if (json_object_get(line, "presses"))
		take_status(state, line, news);
}

void monitor_state_line(
	struct monitor_state *state, const char *text, size_t length, struct monitor_news *news)
{
	struct live_line line;
	*news = (struct monitor_news){.kind = MONITOR_NEWS_NONE};
	if (!live_read(text, length, &line, &news->text)) {
		news->kind = MONITOR_NEWS_REFUSED;
		return;
	}
	struct monitor_press *press = find_press(state, line.press);
	if (line.kind == LIVE_OTHER) {
		take_other(state, line.json, news);
	} else if (line.kind == LIVE_DURABLE) {
		news->kind = MONITOR_NEWS_DURABLE;
		state->durable = line.durable;
	} else if (press) {
		news->press = (size_t)(press - state->presses);
		take_press_line(press, &line, news);
	}
	live_line_finish(&line);
}

void monitor_state_connected(struct monitor_state *state)
{
	state->connected = true;
}

void monitor_state_away(struct monitor_state *state, const char *why)
{
	state->connected = false;
	state->known = false;
	message_set(&state->away, "%s", why);
	/* An old load that looks like a present one could hurt somebody. */
	for (size_t i = 0; i < state->press_count; i++)
		state->presses[i].has_live = false;
}

void monitor_state_add_result(
	struct monitor_state *state, size_t press, const struct monitor_result *result)
{
	assert(press < state->press_count);
	add_result(&state->presses[press], result);
}

const struct monitor_press *monitor_state_shown(const struct monitor_state *state)
{
	return state->shown < state->press_count ? &state->presses[state->shown] : NULL;
}

void monitor_state_show_next(struct monitor_state *state)
{
	if (state->press_count > 0)
		state->shown = (state->shown + 1) % state->press_count;
}

/* ---- what holds for a press */

const struct specimen *monitor_press_specimen(const struct monitor_press *press)
{
	if (press->status.run && press->run.run == press->status.run)
		return press->run.has_specimen ? &press->run.specimen : NULL;
	return press->status.has_seated ? &press->status.seated : NULL;
}

const char *monitor_press_method(const struct monitor_press *press)
{
	const struct specimen *specimen = monitor_press_specimen(press);
	if (press->status.run && press->run.run == press->status.run)
		return press->run.method;
	return specimen ? specimen->method : press->status.method;
}

bool monitor_press_inch_pound(const struct monitor_press *press)
{
	return shown_inch_pound(monitor_press_method(press));
}

bool monitor_press_band(const struct monitor_press *press, double *low, double *high)
{
	if (press->status.run && press->run.run == press->status.run) {
		*low = press->run.band_low_pa_s;
		*high = press->run.band_high_pa_s;
		return *high > *low;
	}
	const struct method *method = method_find(monitor_press_method(press));
	struct plan plan;
	if (!method || !method_plan(method, monitor_press_specimen(press), &plan, NULL))
		return false;
	*low = plan.band_low * plan.rate_unit_pa;
	*high = plan.band_high * plan.rate_unit_pa;
	return *high > *low;
}
