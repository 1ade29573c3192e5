/* SPDX-License-Identifier: MIT
 *
 * States and what leads from one to the other:
 *
 *   absent --line opened--> silent --a reading--> ready --none for silent_after--> silent
 *     ^                       |                     |
 *     +--------------- line lost its port ----------+
 *
 * The timer watches for silence while readings are expected, and rests once the cell is known to be
 * silent (nothing wakes an idle daemon), unless it has to be asked to begin again.
 */
#include "cell.h"

#include "log.h"
#include "measure/stream.h"
#include "now.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Bytes that are no reading are named once, and again after a time without any. */
static const int64_t ERRORS_QUIET_NS = 60 * CLOCKS_NS_PER_S;
/* Without a useless reading for this long the cell's readings are good again. */
static const int64_t SCALE_QUIET_NS = CLOCKS_NS_PER_S;

struct cell {
	struct line *line;
	const struct config_cell *config;
	size_t index;
	struct cell_hooks hooks;
	uv_timer_t timer;
	struct stream stream;
	struct mono_time expecting_since;
	bool looking; /* once more, at what may wait to be read, before it is called silent */
	uint64_t errors_seen;                  /* when readings were last expected */
	uint64_t errors_named, errors_counted; /* as said at first, and with a number */
	uint64_t readings_counted;
	struct mono_time error_time; /* when the newest of them came */
	uint64_t counts_named;       /* readings missing or repeated, as said so far */
	struct mono_time count_time;
	enum scale_error scale_error; /* as said */
	struct mono_time scale_time;  /* of the newest reading that had one */
	struct mono_time said_time;
	enum unit wrong_unit; /* of that reading, where it is that */
	enum cell_state state;
	char text[STATUS_TEXT_SIZE];
};

static void on_timer(uv_timer_t *timer);

static const char *name_of(const struct cell *cell)
{
	return cell->config->section.name;
}

static void set_state(struct cell *cell, enum cell_state state, enum log_level level,
	const char *format, ...) __attribute__((format(printf, 4, 5)));

/* One line in the log, and one to the watchers, per change. */
static void set_state(
	struct cell *cell, enum cell_state state, enum log_level level, const char *format, ...)
{
	char text[STATUS_TEXT_SIZE];
	va_list arguments;

	va_start(arguments, format);
	vsnprintf(text, sizeof text, format, arguments);
	va_end(arguments);
	if (cell->state == state && strcmp(cell->text, text) == 0)
		return;
	cell->state = state;
	strcpy(cell->text, text);
	log_line(level, "cell %s: %s%s%s", name_of(cell), status_cell_text(state),
		text[0] ? ": " : "", text);
	cell->hooks.changed(cell->hooks.context, cell->index);
}

static void expect_readings(struct cell *cell)
{
	cell->expecting_since = now_mono();
	cell->looking = false;
	cell->errors_seen = cell->stream.error_count;
	uint64_t timeout_ms = (uint64_t)(cell->config->silent_after_ns / CLOCKS_NS_PER_MS);
	uv_timer_start(&cell->timer, on_timer, timeout_ms, 0);
}

/* A reading that is over or under the range says that the cell is there. */
static bool is_usable(enum scale_error error)
{
	return error == SCALE_OK || error == SCALE_NOT_VALID || error == SCALE_NO_ZERO;
}

static void describe_scale(const struct cell *cell, enum scale_error error, struct message *why)
{
	const char *use = is_usable(error) ? "" : "not used: ";

	if (error == SCALE_OK)
		message_set(why, "%s", "");
	else if (error == SCALE_WRONG_UNIT && cell->wrong_unit != UNIT_NONE)
		message_set(why,
			"%sthe cell sends %s and the config expects %s: set `unit` in the config, "
			"or the indicator's unit, so that both agree",
			use, units_text(cell->wrong_unit), units_text(cell->config->scale.unit));
	else
		message_set(why, "%s%s", use, scale_error_text(error));
}

/* An error is said at once; that it is gone, or another one, when the last word is a while ago: an
 * indicator may change its mind with every reading. */
static void note_scale(struct cell *cell, enum scale_error error, const struct reading *reading)
{
	struct message why;
	struct mono_time since = error == SCALE_OK ? cell->scale_time : cell->said_time;

	if (error != SCALE_OK) {
		cell->scale_time = reading->time;
		cell->wrong_unit = reading->unit;
	}
	if (error == cell->scale_error)
		return;
	if (cell->scale_error != SCALE_OK && reading->time.ns - since.ns < SCALE_QUIET_NS)
		return;
	cell->scale_error = error;
	cell->said_time = reading->time;
	describe_scale(cell, error, &why);
	set_state(cell, cell->state, error == SCALE_OK ? LOG_INFO : LOG_WARNING, "%.*s",
		STATUS_TEXT_SIZE - 1, why.text);
}

static void take_reading(void *context, const struct reading *reading)
{
	struct cell *cell = context;

	enum scale_error error = cell->hooks.reading(cell->hooks.context, cell->index, reading);
	note_scale(cell, error, reading);
	if (!is_usable(error))
		return;
	cell->expecting_since = reading->time;
	if (cell->state == CELL_READY)
		return;
	struct message why;
	line_trust(cell->line);
	cell->scale_error = error;
	describe_scale(cell, error, &why);
	set_state(cell, CELL_READY, LOG_INFO, "%.*s", STATUS_TEXT_SIZE - 1, why.text);
	expect_readings(cell);
}

/* The readings around it are used, so this is no change of state. */
static void name_errors(struct cell *cell, struct mono_time now)
{
	bool first = !cell->errors_named || now.ns - cell->error_time.ns > ERRORS_QUIET_NS;

	if (cell->stream.error_count == cell->errors_named)
		return;
	cell->errors_named = cell->stream.error_count;
	cell->error_time = now;
	if (!first)
		return;
	cell->errors_counted = cell->stream.error_count;
	cell->readings_counted = cell->stream.reading_count;
	const char *text = decoder_error_text(cell->stream.last_error);
	if (decoder_error_is_refusal(cell->stream.last_error))
		log_line(LOG_WARNING, "cell %s: the indicator on %s refuses what it is asked: %s",
			name_of(cell), cell->config->port.device, text);
	else
		log_line(LOG_WARNING,
			"cell %s: bytes on %s were thrown away (%s); readings around them are "
			"used, more of these are only counted: check cable, baud and format",
			name_of(cell), cell->config->port.device, text);
}

void cell_count_errors(struct cell *cell)
{
	uint64_t errors = cell->stream.error_count - cell->errors_counted;
	uint64_t readings = cell->stream.reading_count - cell->readings_counted;

	cell->errors_counted = cell->stream.error_count;
	cell->readings_counted = cell->stream.reading_count;
	if (errors)
		log_line(LOG_WARNING,
			"cell %s: bytes on %s were thrown away %llu more times, beside %llu "
			"readings: check cable, baud and format",
			name_of(cell), cell->config->port.device, (unsigned long long)errors,
			(unsigned long long)readings);
}

/* Within a run it is an event; here it is known at any time. */
static void name_counts(struct cell *cell, struct mono_time now)
{
	uint64_t counts = cell->stream.lost_count + cell->stream.repeated_count;
	bool first = !cell->counts_named || now.ns - cell->count_time.ns > ERRORS_QUIET_NS;

	if (counts == cell->counts_named)
		return;
	cell->counts_named = counts;
	cell->count_time = now;
	if (first)
		log_line(LOG_WARNING,
			"cell %s: by its own count, readings are missing or came twice: check "
			"cable, baud and format",
			name_of(cell));
}

/* ---- what the line says */

static bool on_bytes(
	void *context, const unsigned char *bytes, size_t length, struct mono_time stamp)
{
	struct cell *cell = context;
	uint64_t readings = cell->stream.reading_count, errors = cell->stream.error_count;

	stream_feed(&cell->stream, bytes, length, stamp, take_reading, cell);
	name_errors(cell, stamp);
	name_counts(cell, stamp);
	if (cell->stream.reading_count > readings)
		return true;
	/* With addresses that may be another one's reply, late; its own is still to come. */
	bool others =
		cell->config->decoder->addressed && cell->stream.last_error == DECODER_NO_FRAME;
	return cell->stream.error_count > errors && !others;
}

static void ask_repeated(struct cell *cell)
{
	unsigned char bytes[DECODER_REQUEST_MAX];

	if (cell->config->request != CONFIG_REQUEST_REPEATED)
		return;
	line_send(cell->line, bytes,
		cell->config->decoder->ask_repeated(&cell->config->setup, bytes));
}

static void on_opened(void *context, const char *node)
{
	struct cell *cell = context;

	stream_reset(&cell->stream);
	cell->scale_error = SCALE_OK;
	set_state(cell, CELL_SILENT, LOG_INFO, "%.100s is open, no reading yet", node);
	ask_repeated(cell);
	expect_readings(cell);
}

static void on_lost(void *context, bool was_open, const char *reason)
{
	struct cell *cell = context;

	uv_timer_stop(&cell->timer);
	if (was_open)
		set_state(cell, CELL_ABSENT, LOG_WARNING,
			"unplugged (%s): it is taken up again when it comes back", reason);
	else
		set_state(cell, CELL_ABSENT, LOG_WARNING, "%.*s", STATUS_TEXT_SIZE - 1, reason);
}

static size_t on_ask(void *context, unsigned char *bytes, struct mono_time now)
{
	struct cell *cell = context;

	stream_ask(&cell->stream, now);
	return cell->config->decoder->ask(&cell->config->setup, bytes);
}

/* ---- silence */

static const char *what_to_do(const struct cell *cell)
{
	return cell->config->request == CONFIG_REQUEST_NONE
		       ? "nothing comes: check that the indicator is on and sends by itself"
		       : "no answer: check that the indicator is on, its baud, format and address";
}

static void name_useless(struct cell *cell)
{
	const char *text = decoder_error_text(cell->stream.last_error);

	if (decoder_error_is_refusal(cell->stream.last_error))
		set_state(cell, CELL_SILENT, LOG_WARNING,
			"the indicator refuses what it is asked: %s", text);
	else
		set_state(cell, CELL_SILENT, LOG_WARNING,
			"bytes come but no readings (%s): check baud, format and decoder", text);
}

static void check_silence(struct cell *cell)
{
	int64_t quiet_ns = now_mono().ns - cell->expecting_since.ns;
	int64_t left_ns = cell->config->silent_after_ns - quiet_ns;

	/* A loop that was held up calls its timers first and reads then. */
	if (left_ns <= 0 && !cell->looking) {
		cell->looking = true;
		uv_timer_start(&cell->timer, on_timer, 1, 0);
		return;
	}
	cell->looking = false;
	if (left_ns > 0) {
		uv_timer_start(&cell->timer, on_timer,
			(uint64_t)((left_ns + CLOCKS_NS_PER_MS - 1) / CLOCKS_NS_PER_MS), 0);
		return;
	}
	if (!is_usable(cell->scale_error)) {
		struct message why;

		describe_scale(cell, cell->scale_error, &why);
		set_state(cell, CELL_SILENT, LOG_WARNING, "%.*s", STATUS_TEXT_SIZE - 1, why.text);
	} else if (cell->stream.error_count > cell->errors_seen)
		name_useless(cell);
	else
		set_state(cell, CELL_SILENT, LOG_WARNING, "%s", what_to_do(cell));
	if (cell->config->request == CONFIG_REQUEST_REPEATED) {
		/* An indicator that was switched off and on has forgotten what it was asked. */
		ask_repeated(cell);
		expect_readings(cell);
	}
}

static void on_timer(uv_timer_t *timer)
{
	check_silence(timer->data);
}

/* ---- life */

struct cell *cell_create(uv_loop_t *loop, struct line *line, const struct config_cell *config,
	size_t index, const struct cell_hooks *hooks)
{
	struct cell *cell = calloc(1, sizeof *cell);
	struct line_hooks line_hooks = {cell, on_opened, on_lost, on_bytes, on_ask};

	if (!cell)
		return NULL;
	cell->line = line;
	cell->config = config;
	cell->index = index;
	cell->hooks = *hooks;
	cell->state = CELL_ABSENT;
	stream_init(
		&cell->stream, config->decoder, &config->setup, port_ns_per_byte(&config->port));
	uv_timer_init(loop, &cell->timer);
	cell->timer.data = cell;
	line_attach(line, config, &line_hooks);
	return cell;
}

void cell_start(struct cell *cell)
{
	line_start(cell->line);
}

void cell_stop(struct cell *cell)
{
	uv_close((uv_handle_t *)&cell->timer, NULL);
	line_stop(cell->line);
}

void cell_destroy(struct cell *cell)
{
	free(cell);
}

bool cell_is_ready(const struct cell *cell)
{
	return cell->state == CELL_READY;
}

void cell_status(const struct cell *cell, struct status_cell *status)
{
	*status = (struct status_cell){
		.state = cell->state,
		.reading_count = cell->stream.reading_count,
		.error_count = cell->stream.error_count,
	};
	snprintf(status->name, sizeof status->name, "%s", name_of(cell));
	snprintf(status->device, sizeof status->device, "%s", cell->config->port.device);
	snprintf(status->text, sizeof status->text, "%s", cell->text);
}
