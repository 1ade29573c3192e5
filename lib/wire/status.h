/* SPDX-License-Identifier: MIT
 *
 * The state of the daemon, its presses and their cells as JSON objects: written by the daemon, read
 * by the monitor. See docs/wire.md.
 */
#ifndef WIRE_STATUS_H
#define WIRE_STATUS_H

#include "judge/judge.h"
#include "measure/sum.h"
#include "result/specimen.h"
#include "result/verification.h"

#include <jansson.h>

enum { STATUS_PATH_SIZE = 256, STATUS_TEXT_SIZE = 160 };

enum cell_state {
	CELL_READY,  /* readings come */
	CELL_SILENT, /* the port is open, nothing usable comes */
	CELL_ABSENT, /* the port cannot be opened, or was unplugged */
};

struct status_cell {
	char name[SPECIMEN_NAME_SIZE];
	char device[STATUS_PATH_SIZE];
	enum cell_state state;
	uint64_t reading_count;
	uint64_t error_count;
	char text[STATUS_TEXT_SIZE]; /* what is wrong and what to do; "" nothing */
};

enum { STATUS_NOTICES_MAX = 6 };

/* What a person should know of the press before the next run, each a sentence; the gravest first.
 */
struct status_notices {
	size_t count;
	char texts[STATUS_NOTICES_MAX][STATUS_TEXT_SIZE];
};

struct status_press {
	char name[SPECIMEN_NAME_SIZE];
	char method[SPECIMEN_METHOD_SIZE];
	int64_t capacity_un;
	enum phase phase;
	bool has_seated;
	struct specimen seated;
	int64_t run; /* 0: none open, or not numbered yet */
	size_t cell_count;
	struct status_cell cells[SUM_CELLS_MAX];
	struct standing standing; /* written, not read back but for reportable */
	bool reportable;          /* a run beginning now, as far as the verification goes */
	struct status_notices notices;
};

/* Static texts "ready", "silent", "absent". */
const char *status_cell_text(enum cell_state state);

/* New references, or NULL when memory is short. */
json_t *status_cell_json(const struct status_cell *cell);
json_t *status_press_json(const struct status_press *press);

bool status_notices_have(const struct status_notices *notices, const char *text);
bool status_notices_equal(const struct status_notices *one, const struct status_notices *other);
json_t *status_notices_json(const struct status_notices *notices);
bool status_notices_read(const json_t *list, struct status_notices *notices, struct message *why);
bool status_cell_read(const json_t *object, struct status_cell *cell, struct message *why);
bool status_press_read(const json_t *object, struct status_press *press, struct message *why);

/* By name; false if there is no such phase. */
bool status_phase_parse(const char *text, enum phase *phase);

#endif
