/* SPDX-License-Identifier: MIT
 *
 * A test method is data: one file of docs/adding-a-method.md's format, read by method_read.h into
 * this struct. A new method needs no new code path, and nothing asks which method it is.
 */
#ifndef RESULT_METHOD_H
#define RESULT_METHOD_H

#include "base/message.h"
#include "judge/plan.h"
#include "result/specimen.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum {
	METHOD_TEXT_SIZE = 8192, /* of a method's file, with its NUL */
	METHOD_LINE_SIZE = 160,  /* of a sentence in it */
	METHOD_STANDARD_SIZE = 64,
	METHOD_UNIT_SIZE = 12,
	METHOD_UNSURE_MAX = 8,
	METHOD_FACTORS_MAX = 12,
	METHOD_AGES_MAX = 8,
	METHOD_RANGES_MAX = 12,
	METHOD_PADS_MAX = 8,
	METHOD_FACES_MAX = 8,
	METHOD_FRACTURES_MAX = 6,
	METHOD_CLAUSES_MAX = 8,
};

/* How a load becomes a strength; see method_area_m2. */
enum method_formula {
	METHOD_COMPRESSION,
	METHOD_SPLITTING,
	METHOD_FLEXURE,
};

struct method_factor {
	double ratio;  /* length / diameter */
	double factor; /* by which the strength is multiplied */
};

struct method_size_factor {
	int64_t width_um; /* nominal */
	double factor;
};

struct method_age {
	int64_t age_ns, tolerance_ns;
};

/* What the range of companions is seldom beyond, in percent of their mean. */
struct method_range {
	int64_t width_um; /* nominal */
	int count;
	bool field; /* made under field conditions, not the laboratory's */
	double percent;
};

/* Pads of unbonded caps: what hardness goes with which strength, and for how many uses. */
struct method_pad {
	int hardness; /* Shore A */
	double low_pa, high_pa;
	int uses;
	bool qualified; /* only after the qualification tests */
};

struct method_face {
	int64_t width_um; /* of the specimen */
	int64_t face_um;  /* the largest upper bearing face for it */
};

enum method_fracture_worth {
	METHOD_FRACTURE_GOOD,
	METHOD_FRACTURE_DOUBT,    /* the result stands, with a remark */
	METHOD_FRACTURE_VOID,     /* there is no result */
	METHOD_FRACTURE_DISTANCE, /* of a beam: the strength is computed from where it cracked */
};

struct method_fracture {
	int type; /* 1 to 6 */
	enum method_fracture_worth worth;
	char words[METHOD_LINE_SIZE];
};

struct method_clause {
	char topic[16];
	char number[16];
};

struct method {
	char name[SPECIMEN_METHOD_SIZE];     /* "astm-c39", as in options, config and store */
	char standard[METHOD_STANDARD_SIZE]; /* "ASTM C39/C39M (SI)" */
	char edition[SPECIMEN_METHOD_SIZE];  /* "2021"; "" not stated */
	char title[METHOD_LINE_SIZE];
	bool inch_pound; /* limits, loads and strengths shown in psi and lbf */
	/* What its writer had not read in the standard. While there is any of it, no clause is
	 * printed. */
	char unsure[METHOD_UNSURE_MAX][METHOD_LINE_SIZE];
	size_t unsure_count;
	struct method_clause clauses[METHOD_CLAUSES_MAX];
	size_t clause_count;

	/* specimen; 0 or false: no rule */
	unsigned shapes; /* bit i: enum shape i may be registered for it */
	enum method_formula formula;
	int64_t width_to_um, length_to_um; /* measured to the nearest */
	double widths_apart;               /* largest difference, a fraction of the smallest */
	int64_t nominal_um;                /* counts as the width ... */
	double nominal_within;             /* ... unless the face is off by more than this part */
	double square_within_deg;
	int64_t plane_within_um;
	double ratio_usual_low, ratio_usual_high; /* outside, the length is measured */
	bool moist;                               /* kept moist until tested */
	int density_step;                         /* density reported to it, in density_unit */
	char density_unit[METHOD_UNIT_SIZE];      /* "kg/m3", "lb/ft3" */
	int reduced_one_in, reduced_a_day;        /* reduced measuring, whichever is more ... */
	int64_t reduced_within_um;                /* ... where diameters agree within this */
	struct method_face faces[METHOD_FACES_MAX];
	size_t face_count;
	struct method_pad pads[METHOD_PADS_MAX];
	size_t pad_count;

	/* the rate: a band in rate_unit; where the rate is chosen within a range, the band is +-
	 * tolerance around the chosen one; or a time for the judged span */
	enum rate_unit rate_unit;
	double band_low, band_high;
	double chosen_low, chosen_high, chosen_default, chosen_tolerance; /* 0: not chosen */
	double time_low_s, time_high_s;                                   /* 0: a band */
	bool basis_anticipated;
	double span_from, span_to;
	int64_t window_ns;

	/* strength */
	double factor_ratio_max; /* a factor applies at this length/diameter or less; 0: never */
	bool factor_below;       /* ... or rather: below it */
	double ratio_min;        /* below it the method gives no result; 0: no such limit */
	struct method_factor factors[METHOD_FACTORS_MAX]; /* descending ratio */
	size_t factor_count;
	struct method_size_factor size_factors[METHOD_FACTORS_MAX];
	size_t size_factor_count;
	int report_step, report_exponent; /* strength reported to step x 10^exponent ... */
	int report_figures;               /* ... or to so many significant figures */
	char report_unit[METHOD_UNIT_SIZE];
	double report_unit_pa;

	struct method_age ages[METHOD_AGES_MAX];
	size_t age_count;
	double age_other; /* tolerance of an age that is not listed, a fraction of it; 0: none */

	struct method_range ranges[METHOD_RANGES_MAX];
	size_t range_count;
	double apart_max; /* each companion within this part of their mean; 0: no such rule */

	struct method_fracture fractures[METHOD_FRACTURES_MAX]; /* none: any of 1 to 6 */
	size_t fracture_count;
	double crack_outside; /* a beam may crack so far outside its middle third, in spans */

	/* The file as it was read, recorded with every run: its reader's, see method_read.h. */
	const char *text;
};

/* NULL if there is none of that name. Lasts as long as the program; see methods.h. */
const struct method *method_find(const char *name);

/* Load / stress in m2: the loaded area (compression), pi l d / 2 (splitting), b d^2 / span
 * (flexure, third-point loading). */
double method_area_m2(const struct method *method, const struct specimen *specimen);

/* Fills in everything in the plan that comes from method and specimen (area, band, span, window,
 * anticipated load) and the default policy; contact_un is left to the caller. specimen may be NULL
 * (nothing seated): area 0, and the default of a rate that is chosen.
 * False: the specimen is impossible, or the rate is not one that the method lets one choose. */
bool method_plan(const struct method *method, const struct specimen *specimen, struct plan *plan,
	struct message *why);

/* The members of a stored plan that its columns do not hold. */
void method_plan_complete(const struct method *method, struct plan *plan);

/* What registering asks beyond specimen_check: the method is written for this shape, gives a result
 * at this length/diameter, and makes a plan. A curve may still be judged without (assess). */
bool method_specimen_check(
	const struct method *method, const struct specimen *specimen, struct message *why);

/* NULL where the method has no such type. */
const struct method_fracture *method_fracture(const struct method *method, int type);

/* The clause of that topic for a printed page, "" where none may be named. Static or the method's.
 */
const char *method_clause(const struct method *method, const char *topic);

#endif
