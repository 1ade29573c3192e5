/* SPDX-License-Identifier: MIT */
#include "client.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <sys/un.h>
#include <unistd.h>

/* The daemon answers after its writer has committed; a busy disk takes seconds, never this long. */
enum { ANSWER_WAIT_S = 10 };

static enum client_status connect_socket(const char *path, int *fd, struct message *why)
{
	struct sockaddr_un address = {.sun_family = AF_UNIX};
	const struct timeval wait = {.tv_sec = ANSWER_WAIT_S};
	if (strlen(path) >= sizeof(address.sun_path)) {
		message_set(why,
			"the socket's path %s is longer than the %zu bytes that Unix allows", path,
			sizeof(address.sun_path) - 1);
		return CLIENT_FAILED;
	}
	strcpy(address.sun_path, path);
	*fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
	if (*fd < 0) {
		message_set(why, "no socket could be made: %s", strerror(errno));
		return CLIENT_FAILED;
	}
	setsockopt(*fd, SOL_SOCKET, SO_RCVTIMEO, &wait, sizeof(wait));
	setsockopt(*fd, SOL_SOCKET, SO_SNDTIMEO, &wait, sizeof(wait));
	if (connect(*fd, (const struct sockaddr *)&address, sizeof(address)) == 0)
		return CLIENT_DONE;
	bool away = errno == ENOENT || errno == ECONNREFUSED;
	message_set(why,
		away ? "no daemon listens on %s: %s"
		     : "%s: %s; are you in the group that may use the daemon's socket?",
		path, strerror(errno));
	close(*fd);
	return away ? CLIENT_AWAY : CLIENT_FAILED;
}

static bool send_all(int fd, const char *line, struct message *why)
{
	for (size_t rest = strlen(line); rest > 0;) {
		ssize_t sent = send(fd, line, rest, MSG_NOSIGNAL);
		if (sent < 0 && errno == EINTR)
			continue;
		if (sent < 0)
			return message_set(why, "the daemon took no question: %s", strerror(errno));
		line += sent;
		rest -= (size_t)sent;
	}
	return true;
}

/* Reads up to the first LF, which is cut off. */
static bool receive_line(int fd, char *line, size_t size, struct message *why)
{
	size_t length = 0;
	while (length < size) {
		ssize_t got = recv(fd, line + length, size - length, 0);
		if (got < 0 && errno == EINTR)
			continue;
		if (got < 0 && (errno == EAGAIN || errno == EWOULDBLOCK))
			return message_set(
				why, "the daemon gave no answer within %d s", ANSWER_WAIT_S);
		if (got <= 0)
			return message_set(why, "the daemon hung up without an answer");
		char *end = memchr(line + length, '\n', (size_t)got);
		length += (size_t)got;
		if (end) {
			*end = '\0';
			return true;
		}
	}
	return message_set(why, "the daemon's answer is longer than a line may be");
}

static enum client_status converse(
	int fd, const char *question, json_t **wanted, struct message *why)
{
	static const size_t size = REQUEST_LINE_MAX;
	char *line = malloc(size);
	if (!line) {
		message_set(why, "not enough memory");
		return CLIENT_FAILED;
	}
	bool answered = send_all(fd, question, why) && receive_line(fd, line, size, why);
	json_t *answer = answered ? json_loads(line, 0, NULL) : NULL;
	free(line);
	if (answered && !answer)
		message_set(why, "the daemon's answer is no JSON");
	if (!answer)
		return CLIENT_FAILED;
	bool done = request_answer_read(answer, why);
	if (done && wanted)
		*wanted = json_incref(answer);
	json_decref(answer);
	return done ? CLIENT_DONE : CLIENT_REFUSED;
}

enum client_status client_ask(const char *socket_path, const struct request *request,
	json_t **answer, struct message *why)
{
	int fd;
	enum client_status status = connect_socket(socket_path, &fd, why);
	if (status != CLIENT_DONE)
		return status;
	char *question = request_line(request);
	if (question) {
		status = converse(fd, question, answer, why);
	} else {
		message_set(why, "not enough memory");
		status = CLIENT_FAILED;
	}
	free(question);
	close(fd);
	return status;
}

bool client_watch_line(
	struct client_watch *watch, const char **line, size_t *length, struct message *why)
{
	char *start = watch->buffer + watch->taken, *end = NULL;
	while (!(end = memchr(start, '\n', watch->length - watch->taken))) {
		memmove(watch->buffer, start, watch->length - watch->taken);
		watch->length -= watch->taken;
		watch->taken = 0;
		start = watch->buffer;
		ssize_t got = recv(watch->fd, watch->buffer + watch->length,
			sizeof(watch->buffer) - watch->length, 0);
		if (got < 0 && errno == EINTR)
			continue;
		if (got < 0 && (errno == EAGAIN || errno == EWOULDBLOCK))
			return message_set(why, "the press sent nothing for %d s", ANSWER_WAIT_S);
		if (got <= 0)
			return message_set(why, "the daemon hung up, or sent too long a line");
		watch->length += (size_t)got;
	}
	*end = '\0';
	*line = start;
	*length = (size_t)(end - start);
	watch->taken += *length + 1;
	return true;
}

/* Asks to watch and reads the answer. */
static bool begin_watch(struct client_watch *watch, const char *press, struct message *why)
{
	struct request request = {.ask = REQUEST_WATCH, .interval_ms = 0};
	const char *line = NULL;
	size_t length = 0;
	snprintf(request.press, sizeof(request.press), "%s", press);
	char *question = request_line(&request);
	bool sent = question && send_all(watch->fd, question, why);
	free(question);
	if (!sent || !client_watch_line(watch, &line, &length, why))
		return false;
	json_t *answer = json_loadb(line, length, 0, NULL);
	bool done = request_answer_read(answer, why);
	json_decref(answer);
	return done;
}

bool client_watch_open(
	struct client_watch *watch, const char *socket_path, const char *press, struct message *why)
{
	watch->length = watch->taken = 0;
	if (connect_socket(socket_path, &watch->fd, why) != CLIENT_DONE)
		return false;
	if (begin_watch(watch, press, why))
		return true;
	close(watch->fd);
	return false;
}

void client_watch_close(struct client_watch *watch)
{
	close(watch->fd);
}
