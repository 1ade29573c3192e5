/* SPDX-License-Identifier: MIT
 *
 * Named load curves as pure functions of time. A curve is a list of stages; it says how a press and
 * a specimen behave together, in fractions of the specimen's strength and multiples of the nominal
 * stress rate, so that one table serves every size, strength and rate.
 *
 * Noise, pump ripple, resolution and the wire are not here: see player.h and dialect.h.
 */
#ifndef SIMULATOR_CURVES_H
#define SIMULATOR_CURVES_H

/* From the level where the stage before ended to this one. With seconds > 0: in a straight line
 * within that time. Else by a parabola whose slope goes from rate_from to rate_to (multiples of the
 * nominal rate, both >= 0 and not both 0; the sign follows from the levels). */
struct curves_stage {
	double level; /* fraction of the strength at the stage's end */
	double rate_from, rate_to;
	double seconds;
};

struct curves_entry {
	const char *name;
	const char *summary;
	const struct curves_stage *stages; /* ended by a stage that is all zero */
};

/* What a curve is played on. */
struct curves_specimen {
	double area_m2;
	double strength_pa;
	double rate_pa_per_s; /* what the technician means to keep in the latter half */
};

/* NULL if there is none of that name. Static. */
const struct curves_entry *curves_find(const char *name);
/* The table, ended by an entry with a NULL name. */
const struct curves_entry *curves_table(void);

double curves_duration_s(const struct curves_entry *curve, const struct curves_specimen *specimen);
/* Load at time_s after the curve's begin; 0 before it, the last level after its end. */
double curves_load_newton(
	const struct curves_entry *curve, const struct curves_specimen *specimen, double time_s);

#endif
