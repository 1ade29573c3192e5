/* SPDX-License-Identifier: MIT
 *
 * The lines that a watcher receives, both ways: the daemon writes them, the monitor reads them.
 * See docs/wire.md. Live lines are written many times a second: integers only, no printf, no
 * allocation, the caller's buffer. A load is rounded to 1 mN, a stress to 1 Pa, a time to 1 us: a
 * line is for looking at, the evidence is in the database.
 */
#ifndef WIRE_LIVE_H
#define WIRE_LIVE_H

#include "base/text.h"
#include "judge/judge.h"
#include "result/specimen.h"
#include "wire/status.h"

#include <jansson.h>

enum { LIVE_LINE_SIZE = 1024 }; /* the longest live or event line with its LF and NUL */

enum live_kind {
	LIVE_SAMPLE, /* `live` */
	LIVE_EVENT,
	LIVE_RUN_OPEN,
	LIVE_RUN_CLOSED,
	LIVE_FRACTURE,
	LIVE_CELL,
	LIVE_SEATED,
	LIVE_DURABLE,
	LIVE_NOTICES,
	LIVE_STORED,
	LIVE_OTHER, /* an answer, or a kind of line that this program does not know */
};

/* What is known of a run when it opens. */
struct live_run {
	int64_t run;
	bool has_specimen;
	struct specimen specimen;
	char method[SPECIMEN_METHOD_SIZE];
	double band_low_pa_s, band_high_pa_s;
	double area_mm2; /* 0: not known */
};

struct live_fracture {
	int64_t run;
	int type;
	char note[256];
};

struct live_line {
	enum live_kind kind;
	char press[SPECIMEN_NAME_SIZE]; /* "" where the line is about the whole daemon */
	int64_t skipped;                /* LIVE_SAMPLE: left out before it, this reader was slow */
	bool durable;                   /* LIVE_DURABLE */
	bool reportable;                /* LIVE_NOTICES: of status_press */
	bool has_specimen;              /* LIVE_SEATED: false when nothing is seated any more */
	int64_t run;                    /* LIVE_STORED */
	union {
		struct live sample; /* time.ns counts from the run's first reading */
		struct event event; /* as above */
		struct live_run run_open;
		struct live_fracture fracture;
		struct status_cell cell;
		struct specimen seated;
		struct status_notices notices;
		struct mono_time stored; /* up to this reading, from the run's first one */
	};
	json_t *json; /* the whole line, owned; for LIVE_RUN_CLOSED and LIVE_OTHER the content */
};

/* Each writes one line with its LF. The text is too small only by the caller's mistake. */
void live_write_sample(struct text *line, const char *press, const struct live *live,
	struct mono_time origin, int64_t skipped);
void live_write_event(
	struct text *line, const char *press, const struct event *event, struct mono_time origin);
/* The run is on the disk up to this reading. */
void live_write_stored(struct text *line, const char *press, int64_t run, struct mono_time reading,
	struct mono_time origin);

/* The rarer lines as JSON values; a new reference, or NULL when memory is short. The outcome of
 * live_json_run_closed is taken over. */
json_t *live_json_run_open(const char *press, const struct live_run *run);
json_t *live_json_run_closed(const char *press, json_t *outcome);
json_t *live_json_fracture(const char *press, const struct live_fracture *fracture);
json_t *live_json_cell(const char *press, const struct status_cell *cell);
json_t *live_json_seated(const char *press, const struct specimen *specimen); /* NULL: none */
json_t *live_json_notices(const char *press, const struct status_notices *notices, bool reportable);
json_t *live_json_durable(bool durable);

/* Reads one line (without its LF). False: why says what is wrong with it, nothing to finish. */
bool live_read(const char *text, size_t length, struct live_line *line, struct message *why);
void live_line_finish(struct live_line *line);

/* "too_fast" and so on. Static. */
const char *live_advice_text(enum advice advice);

#endif
