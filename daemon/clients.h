/* SPDX-License-Identifier: MIT
 *
 * The control socket and whoever is connected to it. Lines in, lines out; what a request means is
 * the caller's business.
 *
 * A client never delays anything: a write that would block is queued, live lines are left out once
 * CLIENTS_LIVE_OWED is waiting, and a client that owes CLIENTS_OWED_MAX or takes nothing for
 * CLIENTS_STUCK_NS is disconnected. Of one client's requests a few are served in a turn of the
 * loop, and none while it owes CLIENTS_LIVE_OWED. A client's memory is freed in its close callback
 * and nowhere else, so any call here is safe within any other.
 */
#ifndef DAEMON_CLIENTS_H
#define DAEMON_CLIENTS_H

#include "base/clocks.h"
#include "config.h"
#include "judge/judge.h"
#include "wire/request.h"

#include <jansson.h>
#include <sys/types.h>
#include <uv.h>

enum {
	CLIENTS_MAX = 64,
	CLIENTS_LIVE_OWED = 256 * 1024,
	CLIENTS_OWED_MAX = 4 * 1024 * 1024,
	CLIENTS_PENDING_MAX = 32, /* requests of one client that wait for the disk */
	CLIENTS_ALL = -1,         /* every press */
};
#define CLIENTS_STUCK_NS (INT64_C(10) * CLOCKS_NS_PER_S)

struct clients;

struct clients_hooks {
	void *context;
	/* A well-formed request; to be answered with clients_answer, now or later. */
	void (*request)(void *context, uint64_t client, uid_t uid, struct request *request);
};

struct clients *clients_create(uv_loop_t *loop, const struct clients_hooks *hooks);
/* Binds the socket (mode 0660), replacing one that a dead daemon left. Call while holding the lock
 * and before threads start (it sets the umask for a moment). */
bool clients_listen(struct clients *clients, const char *path, struct message *why);
/* Closes everything, removes the socket; run the loop until that is done, then destroy. */
void clients_stop(struct clients *clients);
void clients_destroy(struct clients *clients); /* NULL is fine */

/* Takes the answer over. A client that is gone is passed over. */
void clients_answer(struct clients *clients, uint64_t client, json_t *answer);
/* From now on the client gets the lines of this press, or of CLIENTS_ALL. */
void clients_watch(struct clients *clients, uint64_t client, int press, int64_t interval_ns);

/* Whether a live line of this press would go to anybody now; changed: whatever the interval. */
bool clients_want_live(
	const struct clients *clients, size_t press, struct mono_time now, bool changed);
/* Writes the line once and sends it to all who are due. */
void clients_send_live(struct clients *clients, size_t press, const char *name,
	struct mono_time now, bool changed, const struct live *live, struct mono_time origin);
/* Sends a line (with its LF) to all who watch the press; press CLIENTS_ALL: to all who watch. */
void clients_send(struct clients *clients, int press, const char *line, size_t length);
/* The same for a JSON value, taken over. */
void clients_send_json(struct clients *clients, int press, json_t *value);

#endif
