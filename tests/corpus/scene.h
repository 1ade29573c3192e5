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

struct scene {
	struct random random;
	const struct method *method;
	struct specimen specimen;
	struct plan plan;
	double area_m2;
	double rate_n_s; /* middle of the band */
	double low_n_s, high_n_s;
	double maximum_n; /* aimed at */
	bool quiet;       /* no hunting or ripple in this world */
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
	bool gap;              /* a gap that may be longer than the judging window */
	double warned_from_s;  /* an excursion begins here; 0: none */
	double warned_rate;    /* its rate in parts of the rate before */
};

struct kind {
	const char *name;
	void (*draw)(struct scene *scene);
};

/* Ended by an entry with a NULL name. */
const struct kind *kinds_table(void);

/* Method, specimen, world and plan drawn at random; the drawing is empty. */
void scene_init(struct scene *scene, uint64_t seed);

#endif
