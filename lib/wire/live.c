/* SPDX-License-Identifier: MIT
 *
 * Writers of the lines that a watcher receives. Their readers are in live_read.c.
 */
#include "wire/live.h"

#include "base/units.h"
#include "wire/specimen_json.h"

#include <assert.h>
#include <math.h>

enum { LOAD_PLACES = 3, TIME_PLACES = 6, LENGTH_PLACES = 3 };

static const int64_t UN_PER_MN = 1000;
static const int64_t NS_PER_US = 1000;

const char *live_advice_text(enum advice advice)
{
	switch (advice) {
	case ADVICE_NONE:
		return "none";
	case ADVICE_BAND_AHEAD:
		return "band_ahead";
	case ADVICE_IN_BAND:
		return "in_band";
	case ADVICE_TOO_FAST:
		return "too_fast";
	case ADVICE_TOO_SLOW:
		return "too_slow";
	case ADVICE_STALL:
		return "stall";
	case ADVICE_LEAVE_ALONE:
		return "leave_alone";
	case ADVICE_DECLINING:
		return "declining";
	}
	return "";
}

static void put_time(struct text *line, struct mono_time time, struct mono_time origin)
{
	text_put(line, "\"time_s\":");
	text_fixed(line, (time.ns - origin.ns) / NS_PER_US, TIME_PLACES);
}

/* Half a millinewton is of no interest to anybody: towards zero. */
static void put_load(struct text *line, const char *key, int64_t load_un)
{
	text_put(line, key);
	text_fixed(line, load_un / UN_PER_MN, LOAD_PLACES);
}

static void put_whole(struct text *line, const char *key, double value)
{
	text_put(line, key);
	text_integer(line, llround(value));
}

static void put_start(struct text *line, const char *press, const char *kind)
{
	text_put(line, "{\"press\":");
	text_json_string(line, press);
	text_put(line, kind);
}

void live_write_sample(struct text *line, const char *press, const struct live *live,
	struct mono_time origin, int64_t skipped)
{
	put_start(line, press, ",\"live\":{\"phase\":\"");
	text_put(line, phase_text(live->phase));
	text_put(line, "\",");
	put_time(line, live->time, origin);
	put_load(line, ",\"load_n\":", live->load_un);
	put_load(line, ",\"maximum_n\":", live->maximum_un);
	if (live->stress_pa != 0)
		put_whole(line, ",\"stress_pa\":", live->stress_pa);
	if (live->has_rate) {
		put_whole(line, ",\"rate_pa_s\":", live->rate_pa_s);
		put_whole(line, ",\"rate_u_pa_s\":", live->rate_uncertainty_pa_s);
	}
	if (live->band_begins_un)
		put_load(line, ",\"band_begins_n\":", live->band_begins_un);
	if (live->has_thrust) {
		text_put(line, ",\"thrust_x_mm\":");
		text_fixed(line, live->thrust_x_um, LENGTH_PLACES);
		text_put(line, ",\"thrust_y_mm\":");
		text_fixed(line, live->thrust_y_um, LENGTH_PLACES);
	}
	if (live->advice != ADVICE_NONE) {
		text_put(line, ",\"advice\":\"");
		text_put(line, live_advice_text(live->advice));
		text_put(line, "\"");
	}
	if (live->warning)
		text_put(line, ",\"warning\":true");
	if (live->text[0]) {
		text_put(line, ",\"text\":");
		text_json_string(line, live->text);
	}
	if (skipped) {
		text_put(line, ",\"skipped\":");
		text_integer(line, skipped);
	}
	text_put(line, "}}\n");
	assert(!line->overflow);
}

void live_write_event(
	struct text *line, const char *press, const struct event *event, struct mono_time origin)
{
	put_start(line, press, ",\"event\":{\"kind\":\"");
	text_put(line, event_kind_text(event->kind));
	text_put(line, "\",");
	put_time(line, event->time, origin);
	put_load(line, ",\"load_n\":", event->load_un);
	text_put(line, ",\"text\":");
	text_json_string(line, event->text);
	text_put(line, "}}\n");
	assert(!line->overflow);
}

void live_write_stored(struct text *line, const char *press, int64_t run, struct mono_time reading,
	struct mono_time origin)
{
	put_start(line, press, ",\"stored\":{\"run\":");
	text_integer(line, run);
	text_put(line, ",");
	put_time(line, reading, origin);
	text_put(line, "}}\n");
	assert(!line->overflow);
}

/* Takes the content over. */
static json_t *line_json(const char *press, const char *kind, json_t *content)
{
	json_t *object = json_object();

	if (press)
		json_object_set_new(object, "press", json_string(press));
	json_object_set_new(object, kind, content);
	return object;
}

json_t *live_json_run_open(const char *press, const struct live_run *run)
{
	json_t *content = json_pack("{s:I, s:s, s:f, s:f}", "run", (json_int_t)run->run, "method",
		run->method, "band_low_pa_s", run->band_low_pa_s, "band_high_pa_s",
		run->band_high_pa_s);

	if (run->has_specimen)
		json_object_set_new(content, "specimen", specimen_json(&run->specimen));
	if (run->area_mm2 > 0)
		json_object_set_new(content, "area_mm2", json_real(run->area_mm2));
	return line_json(press, "run_open", content);
}

json_t *live_json_run_closed(const char *press, json_t *outcome)
{
	return line_json(press, "run_closed", outcome);
}

json_t *live_json_fracture(const char *press, const struct live_fracture *fracture)
{
	json_t *content =
		json_pack("{s:I, s:i}", "run", (json_int_t)fracture->run, "type", fracture->type);

	if (fracture->note[0])
		json_object_set_new(content, "note", json_string(fracture->note));
	return line_json(press, "fracture", content);
}

json_t *live_json_cell(const char *press, const struct status_cell *cell)
{
	return line_json(press, "cell", status_cell_json(cell));
}

json_t *live_json_seated(const char *press, const struct specimen *specimen)
{
	return line_json(press, "seated", specimen ? specimen_json(specimen) : json_null());
}

json_t *live_json_notices(const char *press, const struct status_notices *notices, bool reportable)
{
	json_t *line = line_json(press, "notices", status_notices_json(notices));

	json_object_set_new(line, "reportable", json_boolean(reportable));
	return line;
}

json_t *live_json_durable(bool durable)
{
	return line_json(NULL, "durable", json_boolean(durable));
}
