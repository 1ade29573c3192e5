/* SPDX-License-Identifier: MIT
 *
 * A stored run judged again from its raw readings: readings -> scale -> sum -> judge -> outcome,
 * through the very functions that judged it live.
 */
#ifndef STORE_REPLAY_H
#define STORE_REPLAY_H

#include "store/store.h"

#include "judge/judge.h"

struct replay {
	struct outcome outcome;
	struct sample *samples; /* owned by the caller's replay_finish */
	size_t sample_count;
	size_t reading_count; /* stored, all cells */
};

/* record as loaded by store_run_load. The samples are those that the judge saw. */
enum store_status replay_run(
	struct store *store, const struct run_record *record, struct replay *replay);
/* The same without the samples, by a judge made with JUDGE_TRACK_MAX that is lent: whoever has many
 * runs to look at needs no memory for each. NULL: memory is short. */
enum store_status replay_outcome(struct store *store, const struct run_record *record,
	struct judge *judge, struct replay *replay);
/* As if the run had been of that specimen: its plan made anew, contact and thresholds as they were.
 * STORE_REFUSED: the run's method is not known or not for such a specimen. */
enum store_status replay_with(struct store *store, const struct run_record *record,
	const struct specimen *specimen, struct replay *replay);
void replay_finish(struct replay *replay);

#endif
