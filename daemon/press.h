/* SPDX-License-Identifier: MIT
 *
 * One press: its cells' readings become its load; contact opens a run, the judge says when it is
 * over, and everything on the way goes to the writer and to the watchers.
 *
 * What is stored of a run is exactly what its judge was fed: the readings from the pre-roll's first
 * to the one that ended it, through a sum begun afresh. So a replay gives the same outcome.
 */
#ifndef DAEMON_PRESS_H
#define DAEMON_PRESS_H

#include "clients.h"
#include "config.h"
#include "line.h"
#include "store/store.h"
#include "wire/status.h"
#include "writer.h"

#include <uv.h>

struct press;

struct press_world {
	uv_loop_t *loop;
	const struct config *config;
	struct line *const *lines; /* config->line_count */
	struct writer *writer;
	struct clients *clients;
	const char *boot_id;
};

/* world is copied; what it points at must outlive the press. NULL when memory is short. */
struct press *press_create(const struct press_world *world, size_t index);
/* Opens the cells' ports, or begins to try. */
void press_start(struct press *press);
/* Ends a run that is going on as it stands, closes the handles; run the loop, then destroy. */
void press_stop(struct press *press);
void press_destroy(struct press *press); /* NULL is fine */

const char *press_name(const struct press *press);
void press_status(const struct press *press, struct status_press *status);

/* This specimen is the next; NULL: none. Tells the watchers. */
void press_seat(struct press *press, const struct specimen *specimen);

/* Takes up a run that another process left open: begin, its readings in the order of their times,
 * end. Before press_start. */
void press_resume_begin(struct press *press, int64_t run, const struct run_start *start);
void press_resume_reading(struct press *press, size_t cell, const struct reading *reading);
void press_resume_end(struct press *press);

/* What the writer made of the press's notes. */
void press_note_done(struct press *press, const struct writer_note *note);

#endif
