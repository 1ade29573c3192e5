/* SPDX-License-Identifier: MIT
 *
 * One struct client per connection, in a list, the next to be served first. See clients.h for what
 * holds.
 */
#include "clients.h"

#include "log.h"
#include "now.h"
#include "socket_path.h"
#include "wire/live.h"
#include "wire/outcome_json.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>

/* How often a client that owes something is looked at; no timer runs while none does. */
static const uint64_t STUCK_CHECK_MS = 1000;
/* Requests of one client that are served before the loop looks at the ports and the other clients
 * again: 0.2 ms of it, however many a client sends. */
enum { REQUESTS_PER_TURN = 4 };

struct client {
	struct clients *clients;
	struct client *next;
	uv_pipe_t pipe;
	uint64_t id;
	uid_t uid;
	bool closing;
	bool ended;     /* sends no more, but waits for answers */
	bool paused;    /* not read: there are requests left to serve */
	size_t pending; /* requests not yet answered */
	bool watching;
	int press;
	int64_t interval_ns;
	int64_t due_ns[CONFIG_PRESSES_MAX];
	int64_t skipped[CONFIG_PRESSES_MAX];
	size_t owed; /* when last looked at */
	int64_t progress_ns;
	size_t length; /* of the unfinished line */
	char line[REQUEST_LINE_MAX];
};

struct clients {
	uv_loop_t *loop;
	struct clients_hooks hooks;
	uv_pipe_t listener;
	uv_timer_t timer;
	uv_idle_t turn; /* while a client is paused that could be served */
	bool stopping;
	uint64_t last_id;
	size_t count;
	struct client *first;
};

static void serve(struct client *client);

struct sending {
	uv_write_t request;
	char bytes[];
};

/* ---- out */

static void on_closed(uv_handle_t *handle)
{
	struct client *client = handle->data;
	struct client **link = &client->clients->first;

	while (*link != client)
		link = &(*link)->next;
	*link = client->next;
	client->clients->count--;
	free(client);
}

/* why: for the log, NULL when the client left by itself. */
static void close_client(struct client *client, const char *why)
{
	if (client->closing)
		return;
	client->closing = true;
	if (why)
		log_line(LOG_WARNING, "client %llu (uid %u) is disconnected: %s",
			(unsigned long long)client->id, (unsigned)client->uid, why);
	uv_close((uv_handle_t *)&client->pipe, on_closed);
}

static size_t owed_by(const struct client *client)
{
	return uv_stream_get_write_queue_size((const uv_stream_t *)&client->pipe);
}

/* A client that has said all and has got all. */
static void close_if_done(struct client *client)
{
	if (client->ended && !client->pending && !owed_by(client))
		close_client(client, NULL);
}

static void on_sent(uv_write_t *request, int status)
{
	struct client *client = request->handle->data;

	free(request->data);
	if (status < 0)
		close_client(client, NULL);
	else if (client->paused)
		serve(client);
	else
		close_if_done(client);
}

static void on_stuck_check(uv_timer_t *timer)
{
	struct clients *clients = timer->data;
	int64_t now_ns = now_mono().ns;
	size_t owing = 0;

	for (struct client *client = clients->first; client; client = client->next) {
		size_t owed = client->closing ? 0 : owed_by(client);

		if (owed < client->owed || !owed)
			client->progress_ns = now_ns;
		client->owed = owed;
		owing += owed > 0;
		if (owed && now_ns - client->progress_ns >= CLIENTS_STUCK_NS)
			close_client(client, "it takes nothing for 10 s");
	}
	if (!owing)
		uv_timer_stop(timer);
}

static void queue_bytes(struct client *client, const char *bytes, size_t length)
{
	struct clients *clients = client->clients;
	struct sending *sending = malloc(sizeof *sending + length);

	if (!sending || owed_by(client) + length > CLIENTS_OWED_MAX) {
		free(sending);
		close_client(client, "it owes too much: it reads more slowly than it asks");
		return;
	}
	memcpy(sending->bytes, bytes, length);
	sending->request.data = sending;
	uv_buf_t buffer = uv_buf_init(sending->bytes, (unsigned)length);
	if (!owed_by(client))
		client->progress_ns = now_mono().ns;
	if (uv_write(&sending->request, (uv_stream_t *)&client->pipe, &buffer, 1, on_sent) < 0) {
		free(sending);
		close_client(client, NULL);
		return;
	}
	client->owed = owed_by(client);
	if (client->owed && !clients->stopping && !uv_is_active((uv_handle_t *)&clients->timer))
		uv_timer_start(&clients->timer, on_stuck_check, STUCK_CHECK_MS, STUCK_CHECK_MS);
}

static void send_bytes(struct client *client, const char *bytes, size_t length)
{
	size_t sent = 0;

	if (client->closing)
		return;
	if (!owed_by(client)) {
		uv_buf_t buffer = uv_buf_init((char *)bytes, (unsigned)length);
		int result = uv_try_write((uv_stream_t *)&client->pipe, &buffer, 1);

		if (result < 0 && result != UV_EAGAIN) {
			close_client(client, NULL);
			return;
		}
		sent = result > 0 ? (size_t)result : 0;
	}
	if (sent < length)
		queue_bytes(client, bytes + sent, length - sent);
}

/* The line as text with its LF, to be freed; the value is taken over. */
static char *json_line(json_t *value, size_t *length)
{
	char *text = json_dumps(value, JSON_COMPACT | OUTCOME_JSON_FLAGS);

	json_decref(value);
	assert(text);
	*length = strlen(text) + 1;
	text[*length - 1] = '\n'; /* in the place of the NUL */
	return text;
}

static void send_json(struct client *client, json_t *value)
{
	size_t length = 0;
	char *line = json_line(value, &length);

	send_bytes(client, line, length);
	free(line);
}

static bool watches(const struct client *client, int press)
{
	return client->watching && !client->closing &&
	       (press == CLIENTS_ALL || client->press == CLIENTS_ALL || client->press == press);
}

void clients_send(struct clients *clients, int press, const char *line, size_t length)
{
	for (struct client *client = clients->first; client; client = client->next) {
		if (watches(client, press))
			send_bytes(client, line, length);
	}
}

void clients_send_json(struct clients *clients, int press, json_t *value)
{
	size_t length = 0;
	char *line = json_line(value, &length);

	clients_send(clients, press, line, length);
	free(line);
}

static bool is_due(const struct client *client, size_t press, struct mono_time now, bool changed)
{
	return watches(client, (int)press) && (changed || now.ns >= client->due_ns[press]);
}

bool clients_want_live(
	const struct clients *clients, size_t press, struct mono_time now, bool changed)
{
	for (const struct client *client = clients->first; client; client = client->next) {
		if (is_due(client, press, now, changed))
			return true;
	}
	return false;
}

/* Keeps to the interval's own beat; after a pause it begins anew. */
static void set_due(struct client *client, size_t press, struct mono_time now)
{
	int64_t *due_ns = &client->due_ns[press];

	*due_ns += client->interval_ns;
	if (*due_ns <= now.ns - client->interval_ns || *due_ns > now.ns + client->interval_ns)
		*due_ns = now.ns + client->interval_ns;
}

/* Whoever was served first is the last one next time: a line to one costs the others some 10 us,
 * and nobody shall always wait for all. */
static void take_turns(struct clients *clients)
{
	struct client *first = clients->first, *last = first;

	if (!first || !first->next)
		return;
	while (last->next)
		last = last->next;
	clients->first = first->next;
	last->next = first;
	first->next = NULL;
}

void clients_send_live(struct clients *clients, size_t press, const char *name,
	struct mono_time now, bool changed, const struct live *live, struct mono_time origin)
{
	char buffer[LIVE_LINE_SIZE], own[LIVE_LINE_SIZE];
	struct text line, own_line;

	text_init(&line, buffer, sizeof buffer);
	live_write_sample(&line, name, live, origin, 0);
	for (struct client *client = clients->first; client; client = client->next) {
		if (!is_due(client, press, now, changed))
			continue;
		set_due(client, press, now);
		if (owed_by(client) > CLIENTS_LIVE_OWED) {
			client->skipped[press]++;
		} else if (client->skipped[press]) {
			text_init(&own_line, own, sizeof own);
			live_write_sample(&own_line, name, live, origin, client->skipped[press]);
			client->skipped[press] = 0;
			send_bytes(client, own, own_line.length);
		} else {
			send_bytes(client, buffer, line.length);
		}
	}
	take_turns(clients);
}

static struct client *find_client(struct clients *clients, uint64_t id)
{
	struct client *client = clients->first;

	while (client && (client->id != id || client->closing))
		client = client->next;
	return client;
}

void clients_answer(struct clients *clients, uint64_t id, json_t *answer)
{
	struct client *client = find_client(clients, id);

	if (!client) {
		json_decref(answer);
		return;
	}
	assert(client->pending > 0);
	client->pending--;
	send_json(client, answer);
	close_if_done(client);
}

void clients_watch(struct clients *clients, uint64_t id, int press, int64_t interval_ns)
{
	struct client *client = find_client(clients, id);

	if (!client)
		return;
	client->watching = true;
	client->press = press;
	client->interval_ns = interval_ns;
}

/* ---- in */

static void take_line(struct client *client, const char *line, size_t length)
{
	struct clients *clients = client->clients;
	struct request request;
	struct message why = {""};

	if (!length)
		return;
	client->pending++;
	if (!request_read(line, length, &request, &why))
		clients_answer(clients, client->id, request_refusal(request.id, why.text));
	else if (client->pending > CLIENTS_PENDING_MAX)
		clients_answer(clients, client->id,
			request_refusal(request.id, "too many requests at once: wait for answers"));
	else
		clients->hooks.request(clients->hooks.context, client->id, client->uid, &request);
	request_finish(&request);
}

/* It asks for more than it reads: its next requests wait until it has read. */
static bool is_full(const struct client *client)
{
	return owed_by(client) > CLIENTS_LIVE_OWED;
}

/* Serves the requests that are there, but no more than a turn's. True: some are left. */
static bool take_lines(struct client *client)
{
	char *start = client->line;
	char *end = client->line + client->length;
	char *newline = NULL;
	int served = 0;

	while (!client->closing && (newline = memchr(start, '\n', (size_t)(end - start))) &&
		served < REQUESTS_PER_TURN && !is_full(client)) {
		size_t length = (size_t)(newline - start);

		if (length && start[length - 1] == '\r')
			length--;
		take_line(client, start, length);
		served += length > 0;
		start = newline + 1;
	}
	client->length = (size_t)(end - start);
	memmove(client->line, start, client->length);
	return newline != NULL;
}

static void on_alloc(uv_handle_t *handle, size_t suggested, uv_buf_t *buffer);
static void on_read(uv_stream_t *stream, ssize_t length, const uv_buf_t *buffer);

static void on_turn(uv_idle_t *turn)
{
	struct clients *clients = turn->data;
	bool any = false;

	for (struct client *client = clients->first; client; client = client->next) {
		if (client->paused && !client->closing && !is_full(client))
			serve(client);
		any = any || (client->paused && !client->closing && !is_full(client));
	}
	if (!any)
		uv_idle_stop(turn);
}

/* The client is not read while it has requests left, so that its buffer has room for a line. */
static void serve(struct client *client)
{
	struct clients *clients = client->clients;
	bool left = take_lines(client);

	if (client->closing)
		return;
	if (left && !client->paused)
		uv_read_stop((uv_stream_t *)&client->pipe);
	if (!left && client->paused)
		uv_read_start((uv_stream_t *)&client->pipe, on_alloc, on_read);
	client->paused = left;
	if (left && !is_full(client) && !clients->stopping)
		uv_idle_start(&clients->turn, on_turn);
	if (left || client->length < sizeof client->line)
		return;
	send_json(client, request_refusal(NULL, "a line of more than 64 KiB: send shorter ones"));
	close_client(client, "it sent a line of more than 64 KiB");
}

/* Straight into the unfinished line: no copy, and never more than fits. */
static void on_alloc(uv_handle_t *handle, size_t suggested, uv_buf_t *buffer)
{
	struct client *client = handle->data;

	(void)suggested;
	*buffer = uv_buf_init(
		client->line + client->length, (unsigned)(sizeof client->line - client->length));
}

static void on_read(uv_stream_t *stream, ssize_t length, const uv_buf_t *buffer)
{
	struct client *client = stream->data;

	(void)buffer;
	if (length > 0) {
		client->length += (size_t)length;
		serve(client);
	} else if (length == UV_EOF && client->pending) {
		uv_read_stop(stream);
		client->ended = true;
	} else if (length < 0) {
		client->ended = true;
		if (length == UV_EOF)
			close_if_done(client);
		else
			close_client(client, NULL);
	}
}

static uid_t peer_of(uv_pipe_t *pipe)
{
	struct ucred peer = {.uid = (uid_t)-1};
	socklen_t size = sizeof peer;
	uv_os_fd_t descriptor = -1;

	if (uv_fileno((uv_handle_t *)pipe, &descriptor) == 0)
		getsockopt(descriptor, SOL_SOCKET, SO_PEERCRED, &peer, &size);
	return peer.uid;
}

static void on_connection(uv_stream_t *listener, int status)
{
	struct clients *clients = listener->data;
	struct client *client = status < 0 ? NULL : calloc(1, sizeof *client);

	if (!client)
		return;
	client->clients = clients;
	client->id = ++clients->last_id;
	client->next = clients->first;
	clients->first = client;
	clients->count++;
	uv_pipe_init(clients->loop, &client->pipe, 0);
	client->pipe.data = client;
	if (uv_accept(listener, (uv_stream_t *)&client->pipe) < 0) {
		close_client(client, NULL);
		return;
	}
	client->uid = peer_of(&client->pipe);
	if (clients->count > CLIENTS_MAX) {
		send_json(client, request_refusal(NULL, "too many connections: close some"));
		close_client(client, "there are too many connections");
		return;
	}
	uv_read_start((uv_stream_t *)&client->pipe, on_alloc, on_read);
}

/* ---- the socket */

struct clients *clients_create(uv_loop_t *loop, const struct clients_hooks *hooks)
{
	struct clients *clients = calloc(1, sizeof *clients);

	if (!clients)
		return NULL;
	clients->loop = loop;
	clients->hooks = *hooks;
	uv_pipe_init(loop, &clients->listener, 0);
	uv_timer_init(loop, &clients->timer);
	uv_idle_init(loop, &clients->turn);
	clients->turn.data = clients;
	clients->listener.data = clients;
	clients->timer.data = clients;
	return clients;
}

bool clients_listen(struct clients *clients, const char *path, struct message *why)
{
	if (!socket_path_free(path, why))
		return false;
	/* Owner and group; others need not know that a test is going on. */
	mode_t mask = umask(0117);
	int failed = uv_pipe_bind(&clients->listener, path);
	umask(mask);
	if (!failed)
		failed = uv_listen((uv_stream_t *)&clients->listener, CLIENTS_MAX, on_connection);
	if (failed)
		return message_set(why, "socket %s: %s: see to its folder, or set socket = ...",
			path, uv_strerror(failed));
	return true;
}

void clients_stop(struct clients *clients)
{
	clients->stopping = true;
	uv_close((uv_handle_t *)&clients->listener, NULL);
	uv_close((uv_handle_t *)&clients->timer, NULL);
	uv_close((uv_handle_t *)&clients->turn, NULL);
	for (struct client *client = clients->first; client; client = client->next)
		close_client(client, NULL);
}

void clients_destroy(struct clients *clients)
{
	free(clients);
}
