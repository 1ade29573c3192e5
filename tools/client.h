/* SPDX-License-Identifier: MIT
 *
 * One question to the daemon over its control socket, one answer, blocking with a time limit.
 */
#ifndef TOOLS_CLIENT_H
#define TOOLS_CLIENT_H

#include "base/message.h"
#include "wire/request.h"

enum client_status {
	CLIENT_DONE,    /* the daemon did it */
	CLIENT_AWAY,    /* no daemon listens there */
	CLIENT_REFUSED, /* the daemon answered no; why is its reason */
	CLIENT_FAILED,  /* no permission, no answer in time, an answer that is none */
};

/* answer: where CLIENT_DONE's goes, the caller's to drop; NULL: nobody wants it. */
enum client_status client_ask(const char *socket_path, const struct request *request,
	json_t **answer, struct message *why);

/* What the daemon sends of one press, every sample; a line at a time. */
struct client_watch {
	int fd;
	size_t length, taken; /* bytes in the buffer, and of those the ones handed out */
	char buffer[REQUEST_LINE_MAX];
};

/* False: why says what stands in the way, nothing to close. */
bool client_watch_open(struct client_watch *watch, const char *socket_path, const char *press,
	struct message *why);
/* Waits for the next line, at most as long as for an answer; *line is cut at its LF and stays until
 * the next call. */
bool client_watch_line(
	struct client_watch *watch, const char **line, size_t *length, struct message *why);
void client_watch_close(struct client_watch *watch);

#endif
