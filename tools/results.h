/* SPDX-License-Identifier: MIT
 *
 * Results of runs as CSV: one row a run, made from the object that `runs --json` writes, with the
 * same names (rate.mean_mpa_s is rate_mean_mpa_s). Names and units are an interface.
 */
#ifndef TOOLS_RESULTS_H
#define TOOLS_RESULTS_H

#include <jansson.h>
#include <stdbool.h>
#include <stdio.h>

void results_put_head(FILE *out);
void results_put_row(FILE *out, const json_t *run);
/* The object itself, as one of a list that begins with the first one and that the caller ends. */
void results_put_object(FILE *out, const json_t *run, bool first);

#endif
