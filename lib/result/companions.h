/* SPDX-License-Identifier: MIT
 *
 * The specimens of one batch and one age: their mean, and whether they agree as well as such
 * specimens do. A range beyond the table is one in twenty with nothing wrong: it is flagged and
 * looked into, and no specimen is ever left out for it.
 */
#ifndef RESULT_COMPANIONS_H
#define RESULT_COMPANIONS_H

#include "result/method.h"
#include "result/statistics.h"

struct companions {
	struct statistics strength; /* Pa, of the unrounded strengths */
	double range_pa;            /* largest - smallest */
	double range_percent;       /* of the mean */
	double limit_percent;       /* by the method's table; 0: it has none for these */
	bool beyond;                /* the range is beyond the limit */
	bool apart;                 /* one is farther from the mean than the method lets it be */
};

/* width_um: mean width of the specimens, which finds its nominal size within a twentieth. field:
 * made under field conditions. */
struct companions companions_of(const struct method *method, int64_t width_um, bool field,
	const double *strengths_pa, size_t count);

/* Percent; 0: the table has no such row. Tabulated, never computed. */
double companions_limit(const struct method *method, int64_t width_um, bool field, size_t count);

/* What to look at when they disagree; ended by NULL. Static. */
extern const char *const companions_checklist[];

#endif
