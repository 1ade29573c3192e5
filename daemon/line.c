/* SPDX-License-Identifier: MIT
 *
 *   absent --opened--> open --hung up, error, end of file--> absent
 *
 * Absent: no port, no poll handle; the timer opens it again, after 0.25 s, doubling to 2 s.
 * Open: port and poll handle are there. Where cells have to be asked the timer is theirs:
 *
 *   resting --the silence is over, a cell is due--> waiting --reply, or none in time--> resting
 */
#include "line.h"

#include "log.h"
#include "measure/modbus.h"
#include "now.h"

#include <assert.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const uint64_t REOPEN_MS_MIN = 250;
/* Well within the time for which a run waits for its cell (press.c). */
static const uint64_t REOPEN_MS_MAX = 2000;
/* One wake-up reads at most this much, so that a babbling line cannot starve the others. */
enum { READ_SIZE = 32 * 1024 };
/* A shorter read has emptied the line's buffer: no second call to be told so. The kernel gives at
 * most 4095 bytes at once. */
enum { READ_SHORT = 2048 };
/* So many requests without a reply, and the cell counts as away ... */
enum { MISSED_MAX = 3 };
/* ... and is asked no more often than this. */
static const int64_t AWAY_NS = CLOCKS_NS_PER_S;
/* Of several that are away, this long after the line waited for one in vain: until then it is the
 * others'. Two in a row would leave a hole in their readings. */
static const int64_t AWAY_APART_NS = 250 * CLOCKS_NS_PER_MS;
/* And its reply is waited for no longer than this, which is no gap for the others (gap_s of the
 * judge is 150 ms), but for once a minute, so that a slower one is found again too. */
static const int64_t AWAY_REPLY_NS = 100 * CLOCKS_NS_PER_MS;
enum { AWAY_PATIENT_EACH = 60 };

struct user {
	const struct config_cell *cell;
	struct line_hooks hooks;
	int64_t due_ns; /* not asked before */
	unsigned missed;
};

struct line {
	uv_loop_t *loop;
	const struct port_settings *settings;
	size_t user_count;
	struct user users[CONFIG_CELLS_MAX];
	struct port *port; /* NULL: absent */
	uv_poll_t poll;
	uv_timer_t timer;
	bool started, stopping;
	uint64_t reopen_ms;
	bool asks;          /* every reading is asked for */
	bool waiting;       /* a request is out */
	size_t turn;        /* who was asked last */
	int64_t due_ns;     /* of what the timer is for, while the port is open */
	int64_t silence_ns; /* between two frames */
	int64_t free_ns;    /* the line is silent for long enough from then on */
};

static void open_port(struct line *line);
static void on_timer(uv_timer_t *timer);

static void retry_later(struct line *line)
{
	uv_timer_start(&line->timer, on_timer, line->reopen_ms, 0);
	line->reopen_ms *= 2;
	if (line->reopen_ms > REOPEN_MS_MAX)
		line->reopen_ms = REOPEN_MS_MAX;
}

static void on_poll_closed(uv_handle_t *handle)
{
	struct line *line = handle->data;

	port_close(line->port);
	line->port = NULL;
	if (!line->stopping)
		retry_later(line);
}

static void tell_lost(struct line *line, bool was_open, const char *reason)
{
	for (size_t i = 0; i < line->user_count; i++)
		line->users[i].hooks.lost(line->users[i].hooks.context, was_open, reason);
}

/* Closed at once: while it is held, a replugged adapter comes back under another name. */
static void lose_port(struct line *line, const char *reason)
{
	if (uv_is_closing((uv_handle_t *)&line->poll))
		return;
	uv_timer_stop(&line->timer);
	uv_close((uv_handle_t *)&line->poll, on_poll_closed);
	tell_lost(line, true, reason);
}

bool line_is_open(const struct line *line)
{
	return line->port && !uv_is_closing((const uv_handle_t *)&line->poll);
}

void line_trust(struct line *line)
{
	line->reopen_ms = REOPEN_MS_MIN;
}

void line_send(struct line *line, const unsigned char *bytes, size_t length)
{
	if (!line_is_open(line))
		return;
	/* A request that does not go out is one without a reply; a port that is gone says so when
	 * it is read. */
	ssize_t written = write(port_descriptor(line->port), bytes, length);
	(void)written;
}

/* ---- asking */

/* The timer counts in whole milliseconds: it looks again where it was early. */
static void wait_until(struct line *line, int64_t due_ns)
{
	int64_t left_ns = due_ns - now_mono().ns;

	line->due_ns = due_ns;
	uv_update_time(line->loop);
	uv_timer_start(&line->timer, on_timer,
		left_ns > 0 ? (uint64_t)((left_ns + CLOCKS_NS_PER_MS - 1) / CLOCKS_NS_PER_MS) : 0,
		0);
}

/* The cell that is due first; of several, the next in turn. */
static size_t next_turn(const struct line *line)
{
	assert(line->user_count > 0);
	size_t best = (line->turn + 1) % line->user_count;
	int64_t now_ns = now_mono().ns;

	for (size_t i = 2; i <= line->user_count; i++) {
		size_t other = (line->turn + i) % line->user_count;

		if (line->users[best].due_ns <= now_ns)
			break;
		if (line->users[other].due_ns < line->users[best].due_ns)
			best = other;
	}
	return best;
}

static void rest(struct line *line)
{
	const struct user *next = &line->users[next_turn(line)];

	line->waiting = false;
	wait_until(line, next->due_ns > line->free_ns ? next->due_ns : line->free_ns);
}

static bool is_away(const struct user *user)
{
	return user->missed >= MISSED_MAX;
}

static int64_t reply_within_ns(const struct line *line, const struct user *user)
{
	int64_t within_ns = user->cell->reply_within_ns;
	bool brief = is_away(user) && user->missed % AWAY_PATIENT_EACH != 0;

	return brief && line->user_count > 1 && within_ns > AWAY_REPLY_NS ? AWAY_REPLY_NS
									  : within_ns;
}

static void ask(struct line *line)
{
	unsigned char bytes[DECODER_REQUEST_MAX];
	size_t turn = next_turn(line);
	struct user *user = &line->users[turn];
	const struct config_cell *cell = user->cell;
	struct mono_time now = now_mono();

	line->turn = turn;
	user->due_ns = now.ns + (is_away(user) ? AWAY_NS : cell->interval_ns);
	size_t length = user->hooks.ask(user->hooks.context, bytes, now);
	size_t on_wire = length + cell->decoder->reply_size(&cell->setup);
	line_send(line, bytes, length);
	line->waiting = true;
	wait_until(line, now.ns + reply_within_ns(line, user) + line->silence_ns +
				 (int64_t)on_wire * port_ns_per_byte(line->settings));
}

static void keep_apart(struct line *line, struct user *given_up)
{
	int64_t now_ns = now_mono().ns;

	for (size_t i = 0; i < line->user_count; i++) {
		struct user *other = &line->users[i];

		if (is_away(other) && other->due_ns < now_ns + AWAY_APART_NS)
			other->due_ns = now_ns + AWAY_APART_NS;
	}
	given_up->due_ns = now_ns + AWAY_NS;
}

static void give_up(struct line *line)
{
	struct user *user = &line->users[line->turn];

	user->missed++;
	if (is_away(user))
		keep_apart(line, user);
	line->free_ns = now_mono().ns + line->silence_ns;
	rest(line);
}

static void on_timer(uv_timer_t *timer)
{
	struct line *line = timer->data;

	if (!line->port)
		open_port(line);
	else if (now_mono().ns < line->due_ns)
		wait_until(line, line->due_ns);
	else if (line->waiting)
		give_up(line);
	else
		ask(line);
}

static void take_bytes(
	struct line *line, const unsigned char *bytes, size_t length, struct mono_time stamp)
{
	struct user *user = &line->users[line->asks ? line->turn : 0];

	/* What comes unasked, or too late, would be taken for the reply to the next request. */
	if (line->asks && !line->waiting)
		return;
	bool whole = user->hooks.bytes(user->hooks.context, bytes, length, stamp);
	if (!line->asks || !whole)
		return;
	user->missed = 0;
	line->free_ns = stamp.ns + line->silence_ns;
	rest(line);
}

/* ---- reading */

/* All that one wake-up finds is one chunk with one stamp, taken behind its last byte: what has
 * piled up in the meantime must not look as if it had just come. */
static void read_port(struct line *line)
{
	unsigned char bytes[READ_SIZE];
	struct mono_time stamp = {0};
	size_t length = 0;
	ssize_t part;

	do {
		part = read(port_descriptor(line->port), bytes + length, sizeof bytes - length);
		if (part <= 0)
			break;
		stamp = now_mono();
		length += (size_t)part;
	} while (part >= READ_SHORT && length < sizeof bytes);
	int error = errno;
	if (length > 0)
		take_bytes(line, bytes, length, stamp);
	if (part == 0 || (part < 0 && error != EAGAIN && error != EINTR))
		lose_port(line, part < 0 ? strerror(error) : "end of file");
}

/* libuv 1.44 reports a vanished terminal as UV_EBADF and has stopped the handle by then. */
static void on_poll(uv_poll_t *poll, int status, int events)
{
	struct line *line = poll->data;

	if (status < 0)
		lose_port(line, "hung up");
	else if (events & (UV_READABLE | UV_DISCONNECT))
		read_port(line);
}

/* ---- opening */

static bool watch_port(struct line *line)
{
	int failed = uv_poll_init(line->loop, &line->poll, port_descriptor(line->port));

	if (failed) {
		char reason[160];

		snprintf(reason, sizeof reason, "%.100s cannot be watched: %s",
			port_node(line->port), uv_strerror(failed));
		port_close(line->port);
		line->port = NULL;
		tell_lost(line, false, reason);
		return false;
	}
	line->poll.data = line;
	uv_poll_start(&line->poll, UV_READABLE | UV_DISCONNECT, on_poll);
	return true;
}

static void open_port(struct line *line)
{
	struct message why = {""};

	line->port = port_open(line->settings, &why);
	if (!line->port)
		tell_lost(line, false, why.text);
	if (!line->port || !watch_port(line)) {
		retry_later(line);
		return;
	}
	if (port_remark(line->port)[0])
		log_line(LOG_INFO, "%s: %s", port_node(line->port), port_remark(line->port));
	for (size_t i = 0; i < line->user_count; i++)
		line->users[i].hooks.opened(line->users[i].hooks.context, port_node(line->port));
	line->turn = line->user_count - 1;
	line->free_ns = now_mono().ns + line->silence_ns;
	if (line->asks)
		rest(line);
}

/* How often each cell can be asked if its indicator answers at once. */
static void log_rate(const struct line *line)
{
	int64_t ns_per_byte = port_ns_per_byte(line->settings), turn_ns = 0;

	for (size_t i = 0; i < line->user_count; i++) {
		const struct config_cell *cell = line->users[i].cell;
		unsigned char bytes[DECODER_REQUEST_MAX];
		size_t size = cell->decoder->ask(&cell->setup, bytes) +
			      cell->decoder->reply_size(&cell->setup);

		turn_ns += (int64_t)size * ns_per_byte + 2 * line->silence_ns;
	}
	double rate = 1e9 / (double)turn_ns;
	log_line(LOG_INFO, "%s: %zu %s asked in turn, at %d baud at most %.1f times a second%s",
		line->settings->device, line->user_count, line->user_count > 1 ? "cells" : "cell",
		line->settings->baud, rate, line->user_count > 1 ? " each" : "");
	if (line->user_count > 1 && turn_ns > SUM_TOLERANCE_NS)
		log_line(LOG_WARNING,
			"%s: the readings of one cell come farther apart than the %d ms within "
			"which cells are added up: raise baud, or spread the cells over more lines",
			line->settings->device, (int)(SUM_TOLERANCE_NS / CLOCKS_NS_PER_MS));
}

/* ---- life */

struct line *line_create(uv_loop_t *loop, const struct config *config, size_t index)
{
	struct line *line = calloc(1, sizeof *line);
	const struct config_cell *cell = &config->cells[config->lines[index]];

	if (!line)
		return NULL;
	line->loop = loop;
	line->settings = &cell->port;
	line->asks = cell->request == CONFIG_REQUEST_EACH;
	if (cell->decoder->addressed)
		line->silence_ns =
			modbus_silence_ns(port_ns_per_byte(&cell->port), cell->port.baud);
	line->reopen_ms = REOPEN_MS_MIN;
	uv_timer_init(loop, &line->timer);
	line->timer.data = line;
	return line;
}

void line_attach(struct line *line, const struct config_cell *cell, const struct line_hooks *hooks)
{
	assert(!line->started && line->user_count < CONFIG_CELLS_MAX);
	line->users[line->user_count++] = (struct user){.cell = cell, .hooks = *hooks};
}

void line_start(struct line *line)
{
	if (line->started)
		return;
	line->started = true;
	assert(line->user_count > 0);
	if (line->asks)
		log_rate(line);
	open_port(line);
}

void line_stop(struct line *line)
{
	if (line->stopping)
		return;
	line->stopping = true;
	uv_close((uv_handle_t *)&line->timer, NULL);
	if (line_is_open(line))
		uv_close((uv_handle_t *)&line->poll, on_poll_closed);
}

void line_destroy(struct line *line)
{
	free(line);
}
