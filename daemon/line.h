/* SPDX-License-Identifier: MIT
 *
 * One serial line on the loop: opens its port, reads, notices unplugging, opens it again by itself.
 * Bytes go to the cell that they are for. Where the protocol has to be asked, the line asks one
 * cell after the other, as fast as the line and the cells' intervals allow, and keeps the silence
 * that the protocol wants between two frames. A cell that does not answer is asked once a second
 * only, so that it does not hold up the others.
 */
#ifndef DAEMON_LINE_H
#define DAEMON_LINE_H

#include "config.h"

#include <uv.h>

/* Who listens on a line; all of them are told of the port, one of them gets the bytes. */
struct line_hooks {
	void *context;
	void (*opened)(void *context, const char *node);
	/* The port is away. was_open: it has just vanished; else it could not be opened. */
	void (*lost)(void *context, bool was_open, const char *reason);
	/* True: something whole has come, a reading or a refusal. */
	bool (*bytes)(
		void *context, const unsigned char *bytes, size_t length, struct mono_time stamp);
	/* The request for the next reading, and when it goes out. */
	size_t (*ask)(void *context, unsigned char *bytes, struct mono_time now);
};

struct line;

/* The config must outlive the line. NULL when memory is short. */
struct line *line_create(uv_loop_t *loop, const struct config *config, size_t index);
/* Before line_start. hooks is copied. */
void line_attach(struct line *line, const struct config_cell *cell, const struct line_hooks *hooks);
/* Opens the port, or begins to try. Again: nothing happens. */
void line_start(struct line *line);
/* Closes the handles; run the loop until that is done, then destroy. Again: nothing happens. */
void line_stop(struct line *line);
void line_destroy(struct line *line); /* NULL is fine */

bool line_is_open(const struct line *line);
/* A reading has come: the port is what it should be, and if it vanishes it is looked for soon. */
void line_trust(struct line *line);
/* Sends these bytes now, if the port is open. */
void line_send(struct line *line, const unsigned char *bytes, size_t length);

#endif
