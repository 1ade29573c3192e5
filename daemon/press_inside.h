/* SPDX-License-Identifier: MIT
 *
 * What a press is made of, for press.c (the press and its cells), press_run.c (its run) and
 * press_tell.c (what is heard of it) alone.
 */
#ifndef DAEMON_PRESS_INSIDE_H
#define DAEMON_PRESS_INSIDE_H

#include "cell.h"
#include "preroll.h"
#include "press.h"
#include "result/press_watch.h"
#include "stance.h"

/* An adapter that holds up readings does so ten times a second: the run has them all, the log the
 * first of each kind. */
enum { PRESS_EVENT_KINDS = EVENT_SMALL_BLOCK + 1, PRESS_LOGGED_MAX = 5 };

struct run {
	bool going;
	bool over;      /* the judge has said so; to be closed when the sum has returned */
	bool silently;  /* samples of the past are fed: nothing to show to anybody */
	int64_t number; /* 0: the writer has not told it yet */
	int64_t reading_count;
	size_t event_count; /* told */
	size_t watch_event_count;
	uint8_t logged[PRESS_EVENT_KINDS]; /* events of each kind, PRESS_LOGGED_MAX at most */
	enum phase phase;
	const struct method *method;
	bool has_specimen;
	struct specimen specimen;
	struct mono_time origin;
	struct utc_time started;
};

struct press {
	struct press_world world;
	size_t index;
	const struct config_press *config;
	size_t cell_count;
	struct cell *cells[SUM_CELLS_MAX];
	struct scale scales[SUM_CELLS_MAX]; /* in force: as configured, with the zeros on record */
	struct sum sum;
	struct stance stance;
	struct press_watch watch;  /* of the run going on */
	struct standing run_stood; /* the press's standing when the last run opened */
	struct preroll preroll;
	struct contact contact;
	bool contact_made;
	struct judge *judge;
	bool has_seated;
	struct specimen seated;
	const struct method *next_method;
	struct plan next_plan;
	struct run run;
	bool refusing; /* contact was made and there was no room to record */
	uv_timer_t stopped_timer;
};

/* ---- press.c */

/* What a cell has sent; context is the press. */
enum scale_error press_take_reading(void *context, size_t cell, const struct reading *reading);
/* Begins the sum afresh, with the scales in force. */
void press_init_sum(struct press *press);
/* Through the sum to the contact detector, or to the judge while a run goes on. */
enum scale_error press_feed(struct press *press, size_t cell, const struct reading *reading);
/* What the next run is made with; NULL: no specimen. Tells nobody. */
void press_set_seat(struct press *press, const struct specimen *specimen);
/* Ends the run in a while if one of its cells is away and stays away. */
void press_watch_cells(struct press *press);

/* ---- press_run.c */

/* Contact was made: opens a run and records the pre-roll. Without room for it nothing begins. */
void press_run_start(struct press *press);
/* The run may have ended when this returns. */
enum scale_error press_run_record(struct press *press, size_t cell, const struct reading *reading);
/* A sample for the judge and for what is watched beside it. */
void press_run_feed(struct press *press, const struct sample *sample);
/* Judges the run as it stands. */
void press_run_close(struct press *press);

/* ---- press_tell.c */

void press_tell_idle(struct press *press, const struct sample *sample);
/* changed: the run's phase. */
void press_tell_running(struct press *press, const struct sample *sample, bool changed);
void press_tell_opened(const struct press *press, const struct writer_note *note);
void press_tell_closed(const struct press *press, const struct writer_note *note);

#endif
