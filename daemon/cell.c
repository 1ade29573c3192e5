/* SPDX-License-Identifier: MIT
 *
 * States and what leads from one to the other:
 *
 *   absent --opened--> silent --a reading--> ready --none for silent_after--> silent
 *     ^                  |                     |
 *     +---- hung up, error, or end of file ----+
 *
 * Absent: no port, no poll handle; the timer opens it again, after 0.25 s, doubling to 5 s.
 * Silent and ready: port and poll handle are there; the timer watches for silence while readings
 * are expected, and rests once the cell is known to be silent (nothing wakes an idle daemon).
 */
#include "cell.h"

#include "log.h"
#include "measure/stream.h"
#include "now.h"

#include <assert.h>
#include <errno.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const uint64_t REOPEN_MS_MIN = 250;
static const uint64_t REOPEN_MS_MAX = 5000;
/* One callback reads at most this much, so that a babbling line cannot starve the others. */
enum { READ_SIZE = 4096, READ_BUDGET = 16 };
/* A shorter read has emptied the line's buffer: no second call to be told so. */
enum { READ_SHORT = 2048 };
/* Bytes that are no reading are named once, and again after a time without any. */
static const int64_t ERRORS_QUIET_NS = 60 * CLOCKS_NS_PER_S;

struct cell {
	uv_loop_t *loop;
	const struct config_cell *config;
	size_t index;
	struct cell_hooks hooks;
	struct port *port; /* NULL: absent */
	uv_poll_t poll;
	uv_timer_t timer;
	bool stopping;
	uint64_t reopen_ms;
	struct stream stream;
	bool skip_first; /* the port was opened in the middle of a line */
	struct mono_time expecting_since;
	uint64_t errors_seen; /* when readings were last expected */
	uint64_t errors_named;
	struct mono_time error_time; /* when the newest of them came */
	enum scale_error scale_error;
	enum cell_state state;
	char text[STATUS_TEXT_SIZE];
};

static void open_port(struct cell *cell);
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
	cell->errors_seen = cell->stream.error_count;
	uint64_t timeout_ms = (uint64_t)(cell->config->silent_after_ns / CLOCKS_NS_PER_MS);
	uv_timer_start(&cell->timer, on_timer, timeout_ms, 0);
}

static void retry_later(struct cell *cell)
{
	uv_timer_start(&cell->timer, on_timer, cell->reopen_ms, 0);
	cell->reopen_ms *= 2;
	if (cell->reopen_ms > REOPEN_MS_MAX)
		cell->reopen_ms = REOPEN_MS_MAX;
}

static void on_poll_closed(uv_handle_t *handle)
{
	struct cell *cell = handle->data;

	port_close(cell->port);
	cell->port = NULL;
	if (!cell->stopping)
		retry_later(cell);
}

/* Closed at once: while it is held, a replugged adapter comes back under another name. */
static void lose_port(struct cell *cell, const char *reason)
{
	if (uv_is_closing((uv_handle_t *)&cell->poll))
		return;
	uv_timer_stop(&cell->timer);
	uv_close((uv_handle_t *)&cell->poll, on_poll_closed);
	set_state(cell, CELL_ABSENT, LOG_WARNING,
		"unplugged (%s): it is taken up again when it comes back", reason);
}

/* A reading that is over or under the range says that the cell is there. */
static bool is_usable(enum scale_error error)
{
	return error == SCALE_OK || error == SCALE_NOT_VALID;
}

static void note_scale(struct cell *cell, enum scale_error error)
{
	if (error == cell->scale_error)
		return;
	cell->scale_error = error;
	set_state(cell, cell->state, error == SCALE_OK ? LOG_INFO : LOG_WARNING, "%s",
		error == SCALE_OK ? "" : scale_error_text(error));
}

static void take_reading(void *context, const struct reading *reading)
{
	struct cell *cell = context;

	if (cell->skip_first) {
		cell->skip_first = false;
		return;
	}
	enum scale_error error = cell->hooks.reading(cell->hooks.context, cell->index, reading);
	note_scale(cell, error);
	if (!is_usable(error))
		return;
	cell->expecting_since = reading->time;
	if (cell->state == CELL_READY)
		return;
	cell->reopen_ms = REOPEN_MS_MIN;
	set_state(
		cell, CELL_READY, LOG_INFO, "%s", error == SCALE_OK ? "" : scale_error_text(error));
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
	if (first)
		log_line(LOG_WARNING,
			"cell %s: bytes on %s were thrown away (%s); readings around them are "
			"used, more of these are only counted: check cable, baud and format",
			name_of(cell), port_node(cell->port),
			decoder_error_text(cell->stream.last_error));
}

static void read_port(struct cell *cell)
{
	unsigned char bytes[READ_SIZE];

	for (int i = 0; i < READ_BUDGET; i++) {
		ssize_t length = read(port_descriptor(cell->port), bytes, sizeof bytes);
		struct mono_time stamp = now_mono();

		if (length < 0 && (errno == EAGAIN || errno == EINTR))
			return;
		if (length <= 0) {
			lose_port(cell, length < 0 ? strerror(errno) : "end of file");
			return;
		}
		stream_feed(&cell->stream, bytes, (size_t)length, stamp, take_reading, cell);
		name_errors(cell, stamp);
		if (length < READ_SHORT)
			return;
	}
}

/* libuv 1.44 reports a vanished terminal as UV_EBADF and has stopped the handle by then. */
static void on_poll(uv_poll_t *poll, int status, int events)
{
	struct cell *cell = poll->data;

	if (status < 0)
		lose_port(cell, "hung up");
	else if (events & (UV_READABLE | UV_DISCONNECT))
		read_port(cell);
}

static void check_silence(struct cell *cell)
{
	int64_t quiet_ns = now_mono().ns - cell->expecting_since.ns;
	int64_t left_ns = cell->config->silent_after_ns - quiet_ns;

	if (left_ns > 0) {
		uv_timer_start(&cell->timer, on_timer,
			(uint64_t)((left_ns + CLOCKS_NS_PER_MS - 1) / CLOCKS_NS_PER_MS), 0);
		return;
	}
	if (!is_usable(cell->scale_error))
		set_state(
			cell, CELL_SILENT, LOG_WARNING, "%s", scale_error_text(cell->scale_error));
	else if (cell->stream.error_count > cell->errors_seen)
		set_state(cell, CELL_SILENT, LOG_WARNING,
			"bytes come but no readings (%s): check baud, format and decoder",
			decoder_error_text(cell->stream.last_error));
	else
		set_state(cell, CELL_SILENT, LOG_WARNING,
			"nothing comes: check that the indicator is on and sends by itself");
}

static void on_timer(uv_timer_t *timer)
{
	struct cell *cell = timer->data;

	if (cell->port)
		check_silence(cell);
	else
		open_port(cell);
}

static void open_port(struct cell *cell)
{
	struct message why = {""};

	cell->port = port_open(&cell->config->port, &why);
	if (!cell->port) {
		set_state(cell, CELL_ABSENT, LOG_WARNING, "%.*s", STATUS_TEXT_SIZE - 1, why.text);
		retry_later(cell);
		return;
	}
	int failed = uv_poll_init(cell->loop, &cell->poll, port_descriptor(cell->port));
	if (failed) {
		set_state(cell, CELL_ABSENT, LOG_WARNING, "%s cannot be watched: %s",
			port_node(cell->port), uv_strerror(failed));
		port_close(cell->port);
		cell->port = NULL;
		retry_later(cell);
		return;
	}
	cell->poll.data = cell;
	uv_poll_start(&cell->poll, UV_READABLE | UV_DISCONNECT, on_poll);
	stream_reset(&cell->stream);
	cell->scale_error = SCALE_OK;
	cell->skip_first = true;
	if (port_remark(cell->port)[0])
		log_line(LOG_INFO, "cell %s: %s", name_of(cell), port_remark(cell->port));
	set_state(cell, CELL_SILENT, LOG_INFO, "%.100s is open, no reading yet",
		port_node(cell->port));
	expect_readings(cell);
}

struct cell *cell_create(uv_loop_t *loop, const struct config_cell *config, size_t index,
	const struct cell_hooks *hooks)
{
	struct cell *cell = calloc(1, sizeof *cell);

	if (!cell)
		return NULL;
	cell->loop = loop;
	cell->config = config;
	cell->index = index;
	cell->hooks = *hooks;
	cell->reopen_ms = REOPEN_MS_MIN;
	cell->state = CELL_ABSENT;
	stream_init(
		&cell->stream, config->decoder, &config->setup, port_ns_per_byte(&config->port));
	uv_timer_init(loop, &cell->timer);
	cell->timer.data = cell;
	return cell;
}

void cell_start(struct cell *cell)
{
	assert(!cell->port);
	open_port(cell);
}

void cell_stop(struct cell *cell)
{
	cell->stopping = true;
	uv_close((uv_handle_t *)&cell->timer, NULL);
	if (cell->port && !uv_is_closing((uv_handle_t *)&cell->poll))
		uv_close((uv_handle_t *)&cell->poll, on_poll_closed);
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
