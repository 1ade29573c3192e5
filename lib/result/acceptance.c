/* SPDX-License-Identifier: MIT
 *
 * One row a rule; each row is data but for the ways in which ACI 318 makes the single limit and
 * EN 206 the mean's.
 */
#include "result/acceptance.h"

#include "base/units.h"

#include <assert.h>
#include <math.h>
#include <string.h>

struct rule {
	const char *name, *title;
	size_t mean_of;    /* tests in the mean; with at_least: or more */
	bool at_least;     /* the mean is over all tests from the first on */
	double mean_plus;  /* the mean is at least specified + this many Pa ... */
	double mean_sigma; /* ... + this many sigma */
	double single_less_pa, single_less_psi; /* a test may be lower by so much ... */
	double up_to_pa, up_to_psi; /* ... for a specified strength up to this (0: any) */
	double single_less_part;    /* and by this part of it above */
};

#define MPA UNITS_PASCAL_PER_MPA
#define PSI UNITS_PASCAL_PER_PSI

static const struct rule rules[ACCEPTANCE_COUNT] = {
	[ACCEPTANCE_NONE] = {.name = "none", .title = "no acceptance asked for"},
	[ACCEPTANCE_ACI_318] = {.name = "aci-318",
		.title = "ACI 318",
		.mean_of = 3,
		.single_less_pa = 3.5 * MPA,
		.single_less_psi = 500 * PSI,
		.up_to_pa = 35 * MPA,
		.up_to_psi = 5000 * PSI,
		.single_less_part = 0.10},
	[ACCEPTANCE_EN_206_INITIAL] = {.name = "en-206-initial",
		.title = "EN 206, initial production",
		.mean_of = 3,
		.mean_plus = 4 * MPA,
		.single_less_pa = 4 * MPA,
		.single_less_psi = 4 * MPA},
	[ACCEPTANCE_EN_206_CONTINUOUS] = {.name = "en-206-continuous",
		.title = "EN 206, continuous production",
		.mean_of = 15,
		.at_least = true,
		.mean_sigma = 1.48,
		.single_less_pa = 4 * MPA,
		.single_less_psi = 4 * MPA},
};

const char *acceptance_rule_text(enum acceptance_rule rule)
{
	assert(rule < ACCEPTANCE_COUNT);
	return rules[rule].name;
}

const char *acceptance_rule_title(enum acceptance_rule rule)
{
	assert(rule < ACCEPTANCE_COUNT);
	return rules[rule].title;
}

bool acceptance_rule_parse(const char *text, enum acceptance_rule *rule)
{
	for (int i = 0; i < ACCEPTANCE_COUNT; i++) {
		if (strcmp(rules[i].name, text) == 0) {
			*rule = (enum acceptance_rule)i;
			return true;
		}
	}
	return false;
}

static double single_least(const struct acceptance_input *input)
{
	const struct rule *rule = &rules[input->rule];
	double up_to = input->inch_pound ? rule->up_to_psi : rule->up_to_pa;
	double less = input->inch_pound ? rule->single_less_psi : rule->single_less_pa;
	if (up_to > 0 && input->specified_pa > up_to)
		less = rule->single_less_part * input->specified_pa;
	return input->specified_pa - less;
}

struct acceptance_at acceptance_judge(
	const struct acceptance_input *input, const double *tests_pa, size_t at)
{
	const struct rule *rule = &rules[input->rule];
	struct acceptance_at judged = {.mean_passed = true, .single_passed = true};
	if (input->rule == ACCEPTANCE_NONE)
		return judged;
	judged.single_least_pa = single_least(input);
	judged.single_passed = tests_pa[at] >= judged.single_least_pa;
	judged.has_mean = at + 1 >= rule->mean_of;
	if (!judged.has_mean)
		return judged;
	size_t count = rule->at_least ? at + 1 : rule->mean_of;
	double sum = 0;
	for (size_t i = at + 1 - count; i <= at; i++)
		sum += tests_pa[i];
	judged.mean_pa = sum / (double)count;
	judged.mean_least_pa =
		input->specified_pa + rule->mean_plus + rule->mean_sigma * input->sigma_pa;
	judged.mean_passed = judged.mean_pa >= judged.mean_least_pa;
	return judged;
}

bool acceptance_required_average(double specified_pa, double deviation_pa, size_t tests,
	bool inch_pound, double *required_pa)
{
	static const struct {
		size_t tests;
		double factor;
	} table[] = {{15, 1.16}, {20, 1.08}, {25, 1.03}, {30, 1.00}};
	size_t last = sizeof table / sizeof table[0] - 1, i = 0;
	double less = inch_pound ? 500 * PSI : 3.5 * MPA;
	double up_to = inch_pound ? 5000 * PSI : 35 * MPA;
	if (tests < table[0].tests)
		return false;
	while (i < last && tests >= table[i + 1].tests)
		i++;
	double factor = table[i].factor;
	if (i < last)
		factor += (table[i + 1].factor - factor) * (double)(tests - table[i].tests) /
			  (double)(table[i + 1].tests - table[i].tests);
	double s = factor * deviation_pa;
	double second = specified_pa <= up_to ? specified_pa + 2.33 * s - less
					      : 0.90 * specified_pa + 2.33 * s;
	*required_pa = fmax(specified_pa + 1.34 * s, second);
	return true;
}

bool acceptance_sigma_holds(double sigma_pa, double deviation_15_pa)
{
	return deviation_15_pa >= 0.63 * sigma_pa && deviation_15_pa <= 1.37 * sigma_pa;
}
