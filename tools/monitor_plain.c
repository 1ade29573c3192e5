/* SPDX-License-Identifier: MIT */
#include "monitor_plain.h"

#include "draw/shown.h"
#include "words.h"

#include <inttypes.h>
#include <string.h>

enum { LINE_SIZE = 1024 };

static void put_time(struct text *line, struct mono_time time)
{
	text_fixed(line, time.ns / (CLOCKS_NS_PER_S / 10), 1);
	text_put(line, " s: ");
}

static void put_load(struct text *line, const struct monitor_press *press, int64_t load_un)
{
	shown_put(SHOWN_LOAD, monitor_press_inch_pound(press),
		(double)load_un / (double)UNITS_UN_PER_N, line);
}

static void put_live(
	struct text *line, const struct monitor_press *press, const struct monitor_news *news)
{
	/* The time counts from the beginning of a run. */
	if (press->live.phase != PHASE_IDLE)
		put_time(line, press->live.time);
	if (news->phase_changed) {
		text_put(line, words_phase(press->live.phase));
		text_put(line, " at ");
	}
	put_load(line, press, press->live.load_un);
	if (press->live.text[0])
		text_format(
			line, ": %s%s", press->live.warning ? "WARNING: " : "", press->live.text);
}

static void put_specimen(struct text *line, const struct specimen *specimen)
{
	text_put(line, specimen ? specimen->id : "no specimen");
	if (specimen && specimen->set[0])
		text_format(line, " of set %s", specimen->set);
}

static void put_cell(struct text *line, const struct status_cell *cell)
{
	text_format(line, "cell %s is %s", cell->name, status_cell_text(cell->state));
	if (cell->text[0])
		text_format(line, ": %s", cell->text);
}

static void put_notices(struct text *line, const struct monitor_press *press)
{
	const struct status_notices *notices = &press->status.notices;
	for (size_t i = 0; i < notices->count; i++)
		text_format(line, "%s%s", i ? "; " : "NOTE: ", notices->texts[i]);
	if (notices->count == 0)
		text_put(line, "nothing to note");
}

static void put_status(struct text *line, const struct monitor_press *press)
{
	text_put(line, words_phase(press->status.phase));
	text_put(line, ", ");
	put_specimen(line, monitor_press_specimen(press));
	for (size_t i = 0; i < press->status.cell_count; i++) {
		text_put(line, ", ");
		put_cell(line, &press->status.cells[i]);
	}
	if (press->status.notices.count > 0) {
		text_put(line, ", ");
		put_notices(line, press);
	}
}

static void put_result(struct text *line, const struct monitor_result *result)
{
	text_format(line, "run %" PRId64 " is over: ", result->run);
	shown_put(SHOWN_LOAD, shown_inch_pound(result->method), result->maximum_newton, line);
	if (result->strength[0])
		text_format(line, ", %s", result->strength);
	text_format(line, ", %s, rate: %s", end_text(result->end), words_verdict(result->verdict));
	if (!result->reportable)
		text_format(line, ", NOT REPORTABLE: %s", result->why.text);
}

/* What the news says of its press. */
static void put_press_news(
	struct text *line, const struct monitor_press *press, const struct monitor_news *news)
{
	switch (news->kind) {
	case MONITOR_NEWS_LIVE:
		put_live(line, press, news);
		break;
	case MONITOR_NEWS_EVENT:
		put_time(line, press->event.time);
		text_format(line, "%s at ", event_kind_text(press->event.kind));
		put_load(line, press, press->event.load_un);
		text_format(line, ": %s", press->event.text);
		break;
	case MONITOR_NEWS_RUN_OPEN:
		text_format(line, "run %" PRId64 " begins, ", press->run.run);
		put_specimen(line, monitor_press_specimen(press));
		break;
	case MONITOR_NEWS_RUN_CLOSED:
		if (press->result_count > 0)
			put_result(line, &press->results[0]);
		break;
	case MONITOR_NEWS_FRACTURE:
		text_format(line, "run %" PRId64 ": fracture type %d", news->fracture.run,
			news->fracture.type);
		if (news->fracture.note[0])
			text_format(line, ", %s", news->fracture.note);
		break;
	case MONITOR_NEWS_CELL:
		put_cell(line, &news->cell);
		break;
	case MONITOR_NEWS_SEATED:
		text_put(line, "next: ");
		put_specimen(line, press->status.has_seated ? &press->status.seated : NULL);
		break;
	case MONITOR_NEWS_NOTICES:
		put_notices(line, press);
		break;
	case MONITOR_NEWS_NONE:
	case MONITOR_NEWS_STATUS:
	case MONITOR_NEWS_DURABLE:
	case MONITOR_NEWS_REFUSED:
		break;
	}
}

static bool is_wanted(const struct monitor_state *state, const struct monitor_press *press)
{
	return !state->wanted[0] || strcmp(state->wanted, press->status.name) == 0;
}

static void put_all_status(const struct monitor_state *state, FILE *out)
{
	for (size_t i = 0; i < state->press_count; i++) {
		char buffer[LINE_SIZE];
		struct text line;
		if (!is_wanted(state, &state->presses[i]))
			continue;
		text_init(&line, buffer, sizeof(buffer));
		put_status(&line, &state->presses[i]);
		fprintf(out, "%s: %s\n", state->presses[i].status.name, buffer);
	}
}

void monitor_plain_put(
	const struct monitor_state *state, const struct monitor_news *news, FILE *out)
{
	char buffer[LINE_SIZE];
	struct text line;
	switch (news->kind) {
	case MONITOR_NEWS_NONE:
		return;
	case MONITOR_NEWS_STATUS:
		put_all_status(state, out);
		break;
	case MONITOR_NEWS_DURABLE:
		fputs(state->durable ? "the disk takes readings again; none was lost\n"
				     : "WARNING: the disk takes no readings: put this right before "
				       "the next specimen\n",
			out);
		break;
	case MONITOR_NEWS_REFUSED:
		fprintf(out, "from the daemon: %s\n", news->text.text);
		break;
	default:
		if (!is_wanted(state, &state->presses[news->press]))
			return;
		text_init(&line, buffer, sizeof(buffer));
		put_press_news(&line, &state->presses[news->press], news);
		fprintf(out, "%s: %s\n", state->presses[news->press].status.name, buffer);
	}
	fflush(out);
}

void monitor_plain_put_connection(const struct monitor_state *state, FILE *out)
{
	if (state->connected)
		fputs("connected to the daemon\n", out);
	else
		fprintf(out, "WARNING: no live data: %s; trying again\n", state->away.text);
	fflush(out);
}
