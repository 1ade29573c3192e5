/* SPDX-License-Identifier: MIT
 *
 * One load cell: its stream of bytes, its state. Shares its line with others where the protocol
 * allows it; notices silence.
 */
#ifndef DAEMON_CELL_H
#define DAEMON_CELL_H

#include "config.h"
#include "line.h"
#include "wire/status.h"

#include <uv.h>

struct cell_hooks {
	void *context;
	/* index: the cell's place in its press. Says what became of the reading. */
	enum scale_error (*reading)(void *context, size_t index, const struct reading *reading);
	/* The state, or the text that explains it, has changed. */
	void (*changed)(void *context, size_t index);
};

struct cell;

/* Config and line must outlive the cell. NULL when memory is short. */
struct cell *cell_create(uv_loop_t *loop, struct line *line, const struct config_cell *config,
	size_t index, const struct cell_hooks *hooks);
/* Starts the line, once all of its cells were created. */
void cell_start(struct cell *cell);
/* Closes the handles, the line's too; run the loop until that is done, then destroy. */
void cell_stop(struct cell *cell);
void cell_destroy(struct cell *cell); /* NULL is fine */

/* Tells the log how often bytes were thrown away since that was last said, if they were. */
void cell_count_errors(struct cell *cell);

bool cell_is_ready(const struct cell *cell);
void cell_status(const struct cell *cell, struct status_cell *status);

#endif
