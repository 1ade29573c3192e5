/* SPDX-License-Identifier: MIT
 *
 * The configuration file: INI, read once at start, strict. Every key stands in one table from which
 * the parser, the output of --check and the manual's table are made. All errors are reported, each
 * with file and line; nothing is guessed.
 */
#ifndef DAEMON_CONFIG_H
#define DAEMON_CONFIG_H

#include "base/decimal.h"
#include "base/units.h"
#include "log.h"
#include "measure/decoder.h"
#include "measure/sum.h"
#include "measure/thrust.h"
#include "port.h"
#include "result/bearing.h"
#include "result/method.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

enum {
	CONFIG_NAME_SIZE = SPECIMEN_NAME_SIZE,
	CONFIG_PATH_SIZE = 256,
	CONFIG_PRESSES_MAX = 32,
	CONFIG_CELLS_MAX = 64,
	CONFIG_KEYS_MAX = 48, /* in the table, all sections */
	CONFIG_EXAMPLE_SIZE = 128,
};

/* Where a cell is, from the press's centre. */
struct config_place {
	bool known;
	struct thrust_place at;
};

/* A load: a force, or a share of the capacity. */
struct config_contact {
	int64_t load_un; /* 0: use the share */
	double share;
};

/* What every section has: where it began, and which keys were given (by index in the table). */
struct config_section {
	char name[CONFIG_NAME_SIZE];     /* "" in [ramplogd] */
	int line;                        /* 0: the section is not in the file */
	int key_lines[CONFIG_KEYS_MAX];  /* 0: not given, the default holds */
	bool key_wrong[CONFIG_KEYS_MAX]; /* given, and refused: no value is in force */
};

/* How an indicator is made to send. */
enum config_request {
	CONFIG_REQUEST_USUAL,    /* as its protocol has it; never in force */
	CONFIG_REQUEST_NONE,     /* it sends by itself */
	CONFIG_REQUEST_EACH,     /* for each reading */
	CONFIG_REQUEST_REPEATED, /* once; it repeats them by itself from then on */
};

struct config_bytes {
	char text[CONFIG_EXAMPLE_SIZE]; /* as written */
	size_t length;
	unsigned char bytes[CONFIG_EXAMPLE_SIZE];
};

struct config_cell {
	struct config_section section;
	char press_name[CONFIG_NAME_SIZE];
	size_t line; /* index into config.lines: the port that it is on */
	struct port_settings port;
	const struct decoder *decoder;
	struct decoder_setup setup;
	enum config_request request;
	int64_t reply_within_ns, interval_ns;
	struct decimal factor;     /* as configured */
	struct decimal area_m2;    /* mantissa 0: none */
	struct scale scale;        /* what follows from unit, factor and area */
	bool has_scale;            /* false: they do not say what makes a load */
	struct config_place place; /* of its axis */
	int64_t silent_after_ns;
	struct config_bytes example;
};

struct config_press {
	struct config_section section;
	int64_t capacity_un;
	const struct method *method;
	struct config_contact contact;
	int64_t contact_un; /* what follows from it */
	struct config_contact zero_limit, drift_limit;
	int64_t zero_limit_un, drift_limit_un; /* likewise */
	int64_t eccentricity_um;
	struct bearing block;
	size_t cell_count;
	size_t cells[SUM_CELLS_MAX]; /* index into config.cells, in the order of the file */
};

struct config {
	struct config_section section;
	char database[CONFIG_PATH_SIZE];
	char socket[CONFIG_PATH_SIZE];
	char methods[CONFIG_PATH_SIZE];
	enum log_level log_level;
	size_t press_count;
	struct config_press presses[CONFIG_PRESSES_MAX];
	size_t cell_count;
	struct config_cell cells[CONFIG_CELLS_MAX];
	size_t line_count;
	size_t lines[CONFIG_CELLS_MAX]; /* the first cell of each: what its port is set up with */
};

/* Called once per error, in the order found; text is "FILE:LINE: what, what to do". */
typedef void config_complain(void *context, const char *text);

/* Owns nothing but itself: free with config_destroy. NULL if there was any error. A file with
 * errors is returned through *partial all the same, if that is not NULL, so that --check can show
 * what is in force. */
struct config *config_load(
	const char *path, config_complain *complain, void *context, struct config **partial);
void config_destroy(struct config *config); /* NULL is fine */

/* Writes every key with its value, as a file that config_load reads; marks what is a default. */
void config_write(const struct config *config, FILE *file);
/* Writes the table of keys as Markdown: the manual's own text. */
void config_keys_write(FILE *file);

#endif
