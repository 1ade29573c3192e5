/* SPDX-License-Identifier: MIT
 *
 * A scene: one run as drawn, the world it is seen through, and what is true of it.
 */
#ifndef TESTS_CORPUS_SCENE_H
#define TESTS_CORPUS_SCENE_H

#include "drawing.h"
#include "world.h"

#include "base/units.h"
#include "judge/judge.h"
#include "result/method.h"

enum press {
	PRESS_QUIET,
	PRESS_HUNTING,
	PRESS_RIPPLE,
};

struct scene {
	struct random random;
	const struct method *method;
	struct specimen specimen;
	struct plan plan;
	double area_m2;
	double rate_n_s; /* middle of the band */
	double low_n_s, high_n_s;
	double maximum_n; /* aimed at */
	enum press press;
	struct drawing drawing;
	struct world world;
	/* the truth */
	enum end end;
	bool either_end;       /* no software can tell how it ended */
	bool lost;             /* nor what the judged span was */
	double loaded_until_s; /* the maximum is looked for up to here */
	unsigned must;         /* events that must be found, 1 << kind */
	unsigned may;          /* events that may be found */
	double stop_s;         /* the load stood still or fell back here; 0: it did not */
	double perhaps_s;      /* likewise, but the press's own swing may hide it */
	bool gap;              /* a gap that may be longer than the judging window */
	bool hidden;           /* a gap hides the fall: the load may have gone on */
	bool unknowable;       /* nobody can say that the rate was in the band all through */
	bool yields;           /* the rate falls by itself, before the judged span ends */
	double warned_from_s;  /* an excursion begins here; 0: none */
	double warned_until_s;
	double warned_rate_n_s;
};

/* Method, specimen, world and plan drawn at random; the drawing is empty. scene_contact, once it is
 * drawn: what counts as contact on this press. */
void scene_init(struct scene *scene, uint64_t seed);
void scene_contact(struct scene *scene);

#endif
