/* SPDX-License-Identifier: MIT
 *
 * The daemon as a whole: what it owns, and the order in which it comes up and goes down. Everything
 * here lives on the loop's thread; the writer's thread is the writer's own business.
 */
#ifndef DAEMON_DAEMON_H
#define DAEMON_DAEMON_H

#include "clients.h"
#include "config.h"
#include "lateness.h"
#include "notify.h"
#include "press.h"
#include "writer.h"

#include <stdbool.h>
#include <uv.h>

struct daemon {
	uv_loop_t loop;
	const struct config *config; /* outlives the daemon */
	struct store *store;         /* until the writer has it */
	struct writer *writer;
	struct clients *clients;
	size_t press_count;
	size_t line_count;
	struct line *lines[CONFIG_CELLS_MAX];
	struct press *presses[CONFIG_PRESSES_MAX];
	int signal_fd;
	uv_poll_t signals;
	uv_timer_t hourly;
	struct notify notify;
	struct lateness lateness;
	char boot_id[40];
	bool stopping;
};

/* Comes up: lock, database, socket, what a crash left behind, ports. False: why says what is in the
 * way; daemon_finish all the same. */
bool daemon_init(struct daemon *daemon, const struct config *config, struct message *why);
/* Serves until SIGTERM or SIGINT; ends what is going on, writes all, closes all. SIGHUP is noted.
 */
void daemon_run(struct daemon *daemon);
void daemon_finish(struct daemon *daemon);

/* -1: there is none of that name. */
int daemon_find_press(const struct daemon *daemon, const char *name);

#endif
