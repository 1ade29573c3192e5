/* SPDX-License-Identifier: MIT
 *
 * Small texts that several commands show.
 */
#ifndef TOOLS_WORDS_H
#define TOOLS_WORDS_H

#include "base/clocks.h"
#include "judge/judge.h"
#include "store/store.h"

#include <stdbool.h>

/* "in band", "OUT OF BAND", "undetermined", "nothing to judge". Static. */
const char *words_verdict(enum verdict verdict);

/* "latter half" and so on. Static. */
const char *words_phase(enum phase phase);

/* To the second: "2026-03-02T14:05:09Z". text holds CLOCKS_UTC_TEXT_SIZE bytes. */
void words_time(struct utc_time time, char *text);
/* To the minute, for tables: "2026-03-02T14:05Z". */
void words_minute(struct utc_time time, char *text);

/* Below a table of runs, of one that is marked in it: why it is not reportable. */
void words_put_marked(const struct run_row *row);
bool words_is_marked(const struct run_row *row);

/* What the six fracture types look like, in this project's own words; "" for other numbers. */
const char *words_fracture(int type);

#endif
