/* SPDX-License-Identifier: MIT
 *
 * The outcome of a run as a JSON object: the one form that `ramplog assess --json`, `runs --json`,
 * `show --json` and the control socket share. Units stand in the names; times are in seconds from
 * the origin given.
 */
#ifndef WIRE_OUTCOME_JSON_H
#define WIRE_OUTCOME_JSON_H

#include "result/outcome.h"
#include "result/verification.h"

#include <jansson.h>

/* Flags for json_dumps that keep numbers readable: 15 significant digits. */
#define OUTCOME_JSON_FLAGS (JSON_REAL_PRECISION(15))

/* A new reference, or NULL when memory is short. */
json_t *outcome_json(const struct outcome *outcome, struct mono_time origin);

/* What a stored run has beyond its outcome. */
struct outcome_head {
	int64_t run;
	const char *press;
	const char *specimen; /* "" none */
	struct utc_time started;
	int fracture; /* 0: none yet */
	int64_t samples;
	const struct standing *standing; /* of the press's verification when the run began */
	int64_t maximum_un;
};

/* Adds run, press, specimen, started, fracture, samples and what the press's verification says. */
void outcome_json_head(json_t *object, const struct outcome_head *head);

#endif
