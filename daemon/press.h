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

/* Tells what is to say of the press between its runs, if it is not what was told last. */
void press_tell_notices(struct press *press);

/* What the database has of the press's verification and upkeep. Tells the watchers. */
void press_set_upkeep(struct press *press, const struct standing *standing, struct utc_time care);
/* The zero that was set last for one of its cells, before it starts; another scale since is logged
 * and the zero left out. */
void press_set_zero(struct press *press, size_t cell, const struct zero_entry *entry);
size_t press_cell_count(const struct press *press);
const char *press_cell_name(const struct press *press, size_t cell);
/* The scale in force of a cell, its zero included. */
const struct scale *press_scale(const struct press *press, size_t cell);

/* What a zero taken now would be, a note's entries filled in. A run with nothing in it but an
 * unloaded press that reads too much is ended first. False: why says what is in the way. */
bool press_take_zero(struct press *press, struct writer_note *note, struct message *why);
/* The zeros are on record: they hold from now on, or from the end of the run that goes on. */
void press_use_zero(struct press *press, const struct writer_note *note);

/* This specimen is the next; NULL: none. Tells the watchers. */
void press_seat(struct press *press, const struct specimen *specimen);

/* Takes up a run that another process left open: begin, its readings in the order of their times,
 * end. Before press_start. */
void press_resume_begin(struct press *press, int64_t run, const struct run_start *start);
void press_resume_reading(struct press *press, size_t cell, const struct reading *reading);
void press_resume_end(struct press *press);

/* The press's readings up to this one are on the disk. Tells the watchers. */
void press_tell_stored(struct press *press, struct mono_time reading);

/* What the writer made of the press's notes. */
void press_note_done(struct press *press, const struct writer_note *note);

#endif
