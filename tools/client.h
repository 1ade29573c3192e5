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

#endif
