/* SPDX-License-Identifier: MIT
 *
 * A test method is data: one entry of the table in method.c. A new method needs no new code path.
 */
#ifndef RESULT_METHOD_H
#define RESULT_METHOD_H

#include "base/message.h"
#include "judge/plan.h"
#include "result/specimen.h"

#include <stdbool.h>
#include <stdint.h>

struct method_factor {
	double ratio;  /* length / diameter */
	double factor; /* by which the strength is multiplied */
};

struct method {
	const char *name;     /* "astm-c39", as written in options, config and store */
	const char *standard; /* "ASTM C39/C39M (SI)" */
	bool inch_pound;      /* limits, loads and strengths shown in psi and lbf */
	bool cylinders_only;  /* no other shape may be registered for it */
	/* the band, in rate_unit_pa per second; where the rate is chosen within a range, the band
	 * is +- tolerance around the chosen one */
	double rate_unit_pa;
	double band_low, band_high;
	double chosen_low, chosen_high, chosen_default, chosen_tolerance; /* 0: not chosen */
	bool basis_anticipated;
	double span_from, span_to;
	int64_t window_ns;
	/* strength */
	double factor_ratio_max; /* a factor applies at this length/diameter or less; 0: never */
	double ratio_min;        /* below it the method gives no result; 0: no such limit */
	const struct method_factor *factors; /* descending ratio, ended by factor 0 */
	int report_step, report_exponent;    /* strength reported to step x 10^exponent ... */
	const char *report_unit;             /* ... of this unit ("MPa", "psi") */
	double report_unit_pa;
};

/* NULL if there is none of that name. Static. */
const struct method *method_find(const char *name);
/* The table, ended by an entry with a NULL name. */
const struct method *method_table(void);

/* Fills in everything in the plan that comes from method and specimen (area, band, span, window,
 * anticipated load) and the default policy; contact_un is left to the caller. specimen may be NULL
 * (nothing seated): area 0, and the default of a rate that is chosen.
 * False: the specimen is impossible, or the rate is not one that the method lets one choose. */
bool method_plan(const struct method *method, const struct specimen *specimen, struct plan *plan,
	struct message *why);

/* What registering asks beyond specimen_check: the method is written for this shape, gives a result
 * at this length/diameter, and makes a plan. A curve may still be judged without (assess). */
bool method_specimen_check(
	const struct method *method, const struct specimen *specimen, struct message *why);

#endif
