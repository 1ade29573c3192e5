/* SPDX-License-Identifier: MIT
 *
 * The tables are ACI 214R's, from memory but for d2 and the cut points of field work in psi.
 */
#include "result/control.h"

#include "base/units.h"

#include <assert.h>
#include <math.h>

enum { FEW = 10, CHART_RANGES = 10, GRADE_LIMITS = 4, SIZES = 5 };

/* The deviation grades concrete up to this strength, the coefficient of variation above it. */
static const double by_deviation_up_to_pa = 34.5e6;

static const double overall_pa[][GRADE_LIMITS] = {
	{1.4e6, 1.7e6, 2.1e6, 2.4e6}, {2.8e6, 3.4e6, 4.1e6, 4.8e6}};
static const double overall_percent[][GRADE_LIMITS] = {{3.5, 4.5, 5.5, 7}, {7, 9, 11, 14}};
static const double within_percent[][GRADE_LIMITS] = {{2, 3, 4, 5}, {3, 4, 5, 6}};

const char *control_grade_text(enum control_grade grade)
{
	static const char *const texts[] = {"excellent", "very good", "good", "fair", "poor"};
	assert(grade <= CONTROL_POOR);
	return texts[grade];
}

double control_d2(size_t count)
{
	static const double values[SIZES] = {0, 0, 1.128, 1.693, 2.059};
	return count < SIZES ? values[count] : 0;
}

static enum control_grade grade_of(const double limits[GRADE_LIMITS], double value)
{
	int grade = 0;
	while (grade < GRADE_LIMITS && value >= limits[grade])
		grade++;
	/* a value at the last limit is still fair: poor is beyond it */
	if (grade == GRADE_LIMITS && value == limits[GRADE_LIMITS - 1])
		grade = CONTROL_FAIR;
	return (enum control_grade)grade;
}

static size_t usual_size(const struct control_test *tests, size_t count)
{
	size_t tally[SIZES] = {0}, best = 2;
	for (size_t i = 0; i < count; i++) {
		if (tests[i].count < SIZES)
			tally[tests[i].count]++;
	}
	for (size_t size = 2; size < SIZES; size++)
		best = tally[size] > tally[best] ? size : best;
	return best;
}

static void look_within(const struct control_test *tests, size_t count, struct control *control)
{
	double mean_pa = 0;
	control->within_size = usual_size(tests, count);
	for (size_t i = 0; i < count; i++) {
		if (tests[i].count != control->within_size)
			continue;
		control->within_count++;
		double part = 1 / (double)control->within_count;
		control->mean_range_pa += (tests[i].range_pa - control->mean_range_pa) * part;
		mean_pa += (tests[i].mean_pa - mean_pa) * part;
	}
	control->within_pa = control->mean_range_pa / control_d2(control->within_size);
	if (mean_pa > 0)
		control->within_percent = 100 * control->within_pa / mean_pa;
}

/* Welford's way, so that no memory is needed for the means alone. */
static struct statistics means_of(const struct control_test *tests, size_t count)
{
	struct statistics statistics = {.count = count};
	double squares = 0;
	for (size_t i = 0; i < count; i++) {
		double before = tests[i].mean_pa - statistics.mean;
		statistics.mean += before / (double)(i + 1);
		squares += before * (tests[i].mean_pa - statistics.mean);
	}
	if (count > 1)
		statistics.deviation = sqrt(squares / (double)(count - 1));
	return statistics;
}

struct control control_of(
	const struct control_test *tests, size_t count, double specified_pa, bool field)
{
	struct control control = {.overall = means_of(tests, count), .few = count < FEW};
	if (control.overall.mean > 0)
		control.overall_percent = 100 * control.overall.deviation / control.overall.mean;
	control.overall_grade = specified_pa <= by_deviation_up_to_pa
					? grade_of(overall_pa[field], control.overall.deviation)
					: grade_of(overall_percent[field], control.overall_percent);
	look_within(tests, count, &control);
	control.within_grade = grade_of(within_percent[field], control.within_percent);
	return control;
}

static double recent_range(const struct control_test *tests, size_t at, bool *enough)
{
	double sum = 0;
	size_t found = 0;
	for (size_t i = at + 1; i > 0 && found < CHART_RANGES; i--) {
		if (tests[i - 1].count != tests[at].count)
			continue;
		sum += tests[i - 1].range_pa;
		found++;
	}
	*enough = found == CHART_RANGES;
	return sum / (double)found;
}

void control_chart(const struct control_test *tests, size_t count, double target_pa,
	struct control_point *points)
{
	double departure_pa = 0;
	for (size_t i = 0; i < count; i++) {
		departure_pa += tests[i].mean_pa - target_pa;
		points[i] = (struct control_point){.mean_pa = tests[i].mean_pa,
			.has_three = i >= 2,
			.departure_pa = departure_pa};
		if (i >= 2)
			points[i].three_pa =
				(tests[i].mean_pa + tests[i - 1].mean_pa + tests[i - 2].mean_pa) /
				3;
		points[i].range_pa = recent_range(tests, i, &points[i].has_ten);
	}
}
