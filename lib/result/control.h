/* SPDX-License-Identifier: MIT
 *
 * Evaluation of many tests as ACI 214R does it: the spread within tests, which is the laboratory's,
 * and the overall one, which is the concrete's; how good each is; the values of a control chart.
 */
#ifndef RESULT_CONTROL_H
#define RESULT_CONTROL_H

#include "result/statistics.h"

#include <stdbool.h>

/* One strength test: mean and range of its companions. */
struct control_test {
	double mean_pa, range_pa;
	size_t count; /* of companions */
};

enum control_grade {
	CONTROL_EXCELLENT,
	CONTROL_VERY_GOOD,
	CONTROL_GOOD,
	CONTROL_FAIR,
	CONTROL_POOR,
};

struct control {
	struct statistics overall; /* of the tests' means */
	double overall_percent;    /* coefficient of variation */
	enum control_grade overall_grade;
	size_t within_count; /* tests with within_size companions, which alone count below */
	size_t within_size;  /* the size that most tests have: one d2 is never laid over a mix */
	double mean_range_pa;
	double within_pa;      /* mean range / d2 */
	double within_percent; /* of the mean of the same tests */
	enum control_grade within_grade;
	bool few; /* fewer than ten tests: too few to say much */
};

/* 1.128, 1.693, 2.059 for 2, 3, 4 companions; 0 for other counts. */
double control_d2(size_t count);

/* specified_pa: decides whether the overall grade goes by deviation or by coefficient. field: the
 * table for field work, else the one for laboratory trials. */
struct control control_of(
	const struct control_test *tests, size_t count, double specified_pa, bool field);

const char *control_grade_text(enum control_grade grade);

/* A control chart's values at one test, over those up to it. */
struct control_point {
	double mean_pa;
	bool has_three, has_ten;
	double three_pa;     /* mean of this and the two before */
	double range_pa;     /* mean range of the last ten tests of like count */
	double departure_pa; /* cumulative sum of mean - target */
};

/* points: count of them. target_pa: what the sum counts from, e.g. the average required. */
void control_chart(const struct control_test *tests, size_t count, double target_pa,
	struct control_point *points);

#endif
