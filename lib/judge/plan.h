/* SPDX-License-Identifier: MIT
 *
 * What a run is judged against: made from method, specimen and press before the run, stored with
 * it, and never changed during it.
 */
#ifndef JUDGE_PLAN_H
#define JUDGE_PLAN_H

#include "judge/policy.h"
#include "judge/rate_unit.h"

#include <stdbool.h>
#include <stdint.h>

struct plan {
	double area_m2;      /* load / stress: the loaded area, or what stands for it in the formula
			      * of the strength; 0: not known, then no stress and no rate */
	enum rate_unit unit; /* the unit in which the band is given and judged */
	double rate_unit_pa; /* one of it as a stress rate in Pa/s: a unit of force is
			      * divided by the area */
	double band_low, band_high;     /* permitted rate, in that unit */
	double time_low_s, time_high_s; /* instead of a band: how long the judged span may last,
					 * given to the whole of it. 0: the band holds */
	double span_from, span_to;      /* judged span as fractions of anticipated / maximum load */
	int64_t window_ns;              /* judging window W */
	int64_t anticipated_load_un;    /* stated before the run; 0: none */
	bool basis_anticipated;         /* the method lets the span begin on the anticipated load */
	int64_t contact_un;             /* load that counts as contact with the specimen */
	int64_t alignment_un; /* a load below this, taken off again, is an alignment check;
			       * 0: from the anticipated load, or policy.alignment_pa */
	struct policy policy;
};

#endif
