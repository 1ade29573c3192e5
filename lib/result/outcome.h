/* SPDX-License-Identifier: MIT
 *
 * The outcome of a run: the judgement, and the strength that follows from it.
 */
#ifndef RESULT_OUTCOME_H
#define RESULT_OUTCOME_H

#include "judge/judge.h"
#include "result/method.h"
#include "result/specimen.h"

enum { OUTCOME_REPORTED_SIZE = 24 };

/* Where the load acted, from cells whose places are known. */
struct outcome_thrust {
	bool known;
	int64_t x_um, y_um; /* last, under load */
	int64_t worst_um;   /* largest distance from the centre ... */
	struct mono_time worst_at;
};

struct outcome {
	const struct method *method; /* static */
	double area_m2;              /* load / stress, see method_area_m2; 0: no specimen */
	double correction;           /* factors for slenderness and size applied; 1: none */
	double strength_pa;          /* unrounded, corrected; 0: none */
	char strength_reported[OUTCOME_REPORTED_SIZE]; /* "31.7 MPa", "4600 psi"; "" none */
	struct outcome_thrust thrust;                  /* press_watch_finish fills it in */
	struct judgement judgement;
};

/* The L/D factor: interpolated between the method's table values, 1 above factor_ratio_max (a step,
 * not a ramp). False below ratio_min: the method has none. ratio 0 (not measured): 1. Cubes have no
 * factor: do not ask. */
bool outcome_factor(const struct method *method, double ratio, double *factor);

/* The factor for the specimen's size; 1 where the method has none for it. */
double outcome_size_factor(const struct method *method, const struct specimen *specimen);

/* Writes e.g. "31.7 MPa": strength rounded once to the method's step, ties to even. */
void outcome_strength_text(const struct method *method, double strength_pa, char *text);

/* Fills in everything but the judgement from it, the method and the specimen (NULL: none). A
 * strength is given for END_BROKEN and, as what was reached, for the other ends with a load. */
void outcome_derive(
	struct outcome *outcome, const struct method *method, const struct specimen *specimen);

#endif
