/* SPDX-License-Identifier: MIT
 *
 * What is true of a scene's stress rate, from the drawing alone.
 */
#ifndef TESTS_CORPUS_TRUTH_H
#define TESTS_CORPUS_TRUTH_H

#include "scene.h"

struct truth {
	bool judged;                                             /* there is a judged span */
	double from_s, to_s;                                     /* the judged span */
	double early_from_s, late_from_s, early_to_s, late_to_s; /* as the readings may have it */
	double window_s;
	double excess_n_s; /* worst window's slope beyond the nearer limit; negative: inside */
	/* The span begins and ends where the readings say, which noise, swing and their interval
	 * move: the same over the least span and over the longest that it may be. */
	double sure_n_s, widest_n_s;
	bool low;          /* it is the lower limit */
	double error_n_s;  /* standard error of a window's slope in this world */
	double gap_s;      /* longest gap in the least span ... */
	double near_gap_s; /* ... and in the longest */
	bool few;          /* hardly any readings in a window */
};

/* By how much the press's swing and noise may move a reading. */
double truth_swing_n(const struct scene *scene);
void truth_of_rate(const struct scene *scene, enum basis basis, struct truth *truth);

enum mark {
	MARK_RIGHT,
	MARK_CLOSE,    /* within two errors of a limit: any honest answer will do */
	MARK_HESITANT, /* undetermined, and two to four errors from a limit: the estimate of such a
			* rate falls within two errors often enough */
	MARK_REFUGE,   /* undetermined without a gap, with readings enough, far from any limit */
	MARK_ALARM,    /* out of band, though it was in */
	MARK_MISS,     /* in band, though it was out, or nobody can say so */
};

/* Marks a verdict. */
enum mark truth_mark(const struct scene *scene, const struct truth *truth, enum verdict verdict);
/* 2u is under a quarter of the band's half-width: undetermined needs a reason. */
bool truth_is_fine(const struct scene *scene, const struct truth *truth);

#endif
