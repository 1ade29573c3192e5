/* SPDX-License-Identifier: MIT
 *
 * Results of runs as CSV: one row a run, made from the object that `runs --json` writes, with the
 * same names (rate.mean_mpa_s is rate_mean_mpa_s). Names and units are an interface.
 */
#ifndef TOOLS_RESULTS_H
#define TOOLS_RESULTS_H

#include "store/store.h"

#include <jansson.h>
#include <stdbool.h>
#include <stdio.h>

void results_put_head(FILE *out);
void results_put_row(FILE *out, const json_t *run);
/* These runs, one after the other: as CSV, else as a JSON list with a run in each line. Exit code;
 * what stood in the way has been said, and a JSON list has no end then. */
int results_put(const char *command, struct store *store, bool csv, const int64_t *runs,
	size_t count, FILE *out);

#endif
