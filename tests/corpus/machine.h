/* SPDX-License-Identifier: MIT
 *
 * One run through the judge, as the daemon would lead it: fed sample by sample, looked at twenty
 * times a second, judged at its end; and then again in other ways, which must give the same.
 */
#ifndef TESTS_CORPUS_MACHINE_H
#define TESTS_CORPUS_MACHINE_H

#include "scene.h"
#include "tally.h"

#include "store/store.h"

/* What a person saw of it. */
struct watch {
	double good_from_s, good_until_s; /* the rate is good in between; empty: it never is */
	double maximum_s;
	bool warning; /* at the last look */
	int64_t looked_ns;
	double announced_s; /* the excursion, first time; 0: not */
	int good_warnings, late_warnings;
};

struct machine {
	struct judge *judge;
	struct record record;
	struct scene scene;
	struct watch watch;
	struct judgement judgement;
	/* for judging again */
	struct store *store;
	struct random random;
	char folder[64];
};

/* False: memory is short. */
bool machine_init(struct machine *machine);
void machine_finish(struct machine *machine);

/* Judges what is in the record. */
void machine_judge(struct machine *machine);

/* Fed in random chunks with all that may be asked in between, and stored and derived again: true
 * where both give the judgement that is known already, bit for bit; else why says what differs. */
bool machine_judge_again(struct machine *machine, struct message *why);

#endif
