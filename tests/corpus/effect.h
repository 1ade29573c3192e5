/* SPDX-License-Identifier: MIT
 *
 * What each threshold of the policy does: the same runs judged with every threshold halved and
 * doubled in turn.
 */
#ifndef TESTS_CORPUS_EFFECT_H
#define TESTS_CORPUS_EFFECT_H

#include "machine.h"

struct effect; /* owns what was counted */

struct effect *effect_create(void); /* NULL: memory is short */
void effect_destroy(struct effect *effect);
/* Judges the run that the machine holds, as it is and with each threshold changed. */
void effect_run(struct effect *effect, struct machine *machine);
/* Adds to what effect_write wrote before; false at a line that is none of it. */
bool effect_read(FILE *file, struct effect *effect);
void effect_write(FILE *file, const struct effect *effect);
/* The table of thresholds for the documents: name, value, unit, reason, effects. */
void effect_show(const struct effect *effect);

#endif
