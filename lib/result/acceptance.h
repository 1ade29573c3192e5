/* SPDX-License-Identifier: MIT
 *
 * Whether a series of strength tests satisfies what a specification names. A test is the mean of
 * the companions of one sample; tests stand in the order of sampling. Unrounded values in.
 */
#ifndef RESULT_ACCEPTANCE_H
#define RESULT_ACCEPTANCE_H

#include "base/message.h"
#include "result/method.h"

#include <stdbool.h>
#include <stddef.h>

enum acceptance_rule {
	ACCEPTANCE_NONE,
	ACCEPTANCE_ACI_318,           /* running mean of three, single low test */
	ACCEPTANCE_EN_206_INITIAL,    /* mean of three and each of them */
	ACCEPTANCE_EN_206_CONTINUOUS, /* mean of fifteen or more and each of them */
	ACCEPTANCE_COUNT,
};

/* "none", "aci-318", "en-206-initial", "en-206-continuous" */
const char *acceptance_rule_text(enum acceptance_rule rule);
/* As a report names it: "ACI 318". Static. */
const char *acceptance_rule_title(enum acceptance_rule rule);
bool acceptance_rule_parse(const char *text, enum acceptance_rule *rule);

struct acceptance_input {
	enum acceptance_rule rule;
	double specified_pa; /* f'c or fck */
	bool inch_pound;     /* limits in brackets are hard values of their own */
	double sigma_pa;     /* EN 206 continuous: the standard deviation in force */
};

/* What holds up to one test, itself included. */
struct acceptance_at {
	bool has_mean; /* enough tests for the mean's criterion */
	double mean_pa, mean_least_pa;
	double single_least_pa;
	bool mean_passed, single_passed;
};

/* Of test `at` (0 is the first); at < count. ACCEPTANCE_NONE: everything passes. */
struct acceptance_at acceptance_judge(
	const struct acceptance_input *input, const double *tests_pa, size_t at);

/* ACI 301 and 318: the average strength that is required; tests: how many s comes from, fewer than
 * 30 enlarge it, fewer than 15 give none (false). */
bool acceptance_required_average(double specified_pa, double deviation_pa, size_t tests,
	bool inch_pound, double *required_pa);

/* EN 206: whether the deviation of the last fifteen lets sigma stay in force. */
bool acceptance_sigma_holds(double sigma_pa, double deviation_15_pa);

#endif
