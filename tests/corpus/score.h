/* SPDX-License-Identifier: MIT
 *
 * A judgement against the truth.
 */
#ifndef TESTS_CORPUS_SCORE_H
#define TESTS_CORPUS_SCORE_H

#include "machine.h"
#include "tally.h"
#include "truth.h"

enum { SCORE_WHAT_SIZE = 512 };

struct score {
	struct tally tally;         /* of this one run */
	struct truth truth;         /* on the basis on which it was judged */
	char what[SCORE_WHAT_SIZE]; /* what is wrong, " maximum missed-drop"; "" nothing */
};

void score_run(const struct machine *machine, struct score *score);
/* Everything about a run, for a person. */
void score_describe(
	const struct machine *machine, const struct score *score, long index, const char *kind);

#endif
