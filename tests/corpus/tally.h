/* SPDX-License-Identifier: MIT
 *
 * What was counted: per kind of run, as numbers that add up over slices of a corpus. Written and
 * read as lines of text (kind, counter, value, with tabs between), shown as tables for the
 * documents.
 */
#ifndef TESTS_CORPUS_TALLY_H
#define TESTS_CORPUS_TALLY_H

#include "kinds.h"

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

/* X(name) */
#define TALLY_COUNTERS(X) \
	X(runs) \
	X(maximum_wrong) \
	X(time_wrong) /* of the maximum */ \
	X(end_wrong) \
	X(whole_wrong) /* maximum or end */ \
	X(verdict_right) \
	X(verdict_close) \
	X(verdict_hesitant) \
	X(verdict_refuge) \
	X(verdict_alarm) \
	X(verdict_miss) \
	X(other_wrong) /* the verdict on the other basis: refuge, alarm or miss */ \
	X(undetermined) \
	X(out_of_band) \
	X(at_limit) /* steady at the very limit: runs, and what was said of them */ \
	X(at_limit_out) \
	X(at_limit_undetermined) \
	X(reason_wrong) /* the specimen yielded, and the reason does not say so */ \
	X(event_missed) \
	X(event_false) \
	X(again_wrong) /* judged again, and something differed */ \
	X(fine)        /* 2u is under a quarter of the band's half-width */ \
	X(fine_undetermined) \
	X(fine_refuge) \
	X(good)        /* anticipated, the rate within the band from the half to 90 % */ \
	X(good_ms)     /* how long that was */ \
	X(good_warned) /* with a warning in that time */ \
	X(good_warnings) \
	X(late_warned) /* with a warning between 90 % and the maximum */

/* Lateness of live warnings in tenths of a second; the last bin: never. */
enum { TALLY_BINS = 302, TALLY_PRESSES = 3 };
#define TALLY_BIN_S 0.1

struct tally {
#define TALLY_FIELD(name) int64_t name;
	TALLY_COUNTERS(TALLY_FIELD)
#undef TALLY_FIELD
	/* [excursion by 30 % or any of 30 % and more][press] */
	int64_t late[2][TALLY_PRESSES][TALLY_BINS];
};

struct tallies {
	struct tally kind[KINDS_MAX];
};

/* late_s < 0: it was not announced. */
void tally_late(struct tally *tally, bool thirty, enum press press, double late_s);
void tally_add(struct tally *sum, const struct tally *more);
/* Judgements that are wrong in some way. */
int64_t tally_wrong(const struct tally *tally);

/* name: "good"; as lines of text, zeros left out. */
void tally_write(FILE *file, const char *name, const struct tally *tally);
/* Adds what tally_write wrote; false at a line that is none of it. */
bool tally_read(FILE *file, struct tallies *tallies);

/* Tables for the documents: by kind, and what was seen live. */
void tally_show(const struct tallies *tallies);

#endif
