/* SPDX-License-Identifier: MIT
 *
 * A cylinder of 150 mm by 300 mm in the press that the tests draw, its curve in MPa and MPa/s.
 */
#ifndef TESTS_UNIT_JUDGE_CYLINDER_H
#define TESTS_UNIT_JUDGE_CYLINDER_H

#include "press.h"

/* By that method; contact at 1.5 kN. */
struct plan cylinder_plan(const char *method, double anticipated_mpa);
/* The load that makes a stress. */
double cylinder_newton(double mpa);
/* Idle for a second, then up to a stress at a rate. */
struct press *cylinder_begin(double hz, double mpa, double mpa_s);
void cylinder_climb(struct press *press, double mpa, double mpa_s);
/* Brittle end: off within a tenth of a second, then idle. */
void cylinder_snap(struct press *press);
/* Judges what was drawn and frees the press. */
struct judgement cylinder_judged(struct press *press, const struct plan *plan);
/* The same after a brittle end. */
struct judgement cylinder_broken(struct press *press, const struct plan *plan);

/* A macro, so that a failure names the line of the test. */
#define cylinder_check_verdict(judgement, expected) \
	do { \
		if ((judgement).rate.verdict != (expected)) \
			fail_msg("verdict %s: %s", verdict_text((judgement).rate.verdict), \
				(judgement).rate.reason); \
	} while (0)

#endif
