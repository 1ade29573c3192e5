/* SPDX-License-Identifier: MIT
 *
 * What is true of a scene's stress rate, from the drawing alone.
 */
#ifndef TESTS_CORPUS_TRUTH_H
#define TESTS_CORPUS_TRUTH_H

#include "scene.h"

struct truth {
	bool judged;         /* there is a judged span */
	double from_s, to_s; /* the judged span */
	double window_s;
	double excess_n_s; /* worst window's slope beyond the nearer limit; negative: inside */
	double error_n_s;  /* standard error of a window's slope in this world */
	double gap_s;      /* longest gap in the span */
};

void truth_of_rate(const struct scene *scene, enum basis basis, struct truth *truth);

enum mark {
	MARK_RIGHT,
	MARK_CLOSE, /* the truth is within the error's reach of a limit: any honest answer will do
		     */
	MARK_WRONG,
};

/* Marks a verdict. Far from a limit only one verdict is right; an excess between two and four
 * errors may be called undetermined, since its estimate falls within two errors half of the time.
 */
enum mark truth_mark(const struct scene *scene, const struct truth *truth, enum verdict verdict);

#endif
