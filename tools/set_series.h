/* SPDX-License-Identifier: MIT
 *
 * The tests of one concrete, in the order in which it was sampled.
 */
#ifndef TOOLS_SET_SERIES_H
#define TOOLS_SET_SERIES_H

#include "set_tests.h"

enum { SET_SERIES_MAX = 400 }; /* tests; a concrete has one to a few a day */

struct set_series {
	const char *name;
	struct set_test *tests[SET_SERIES_MAX]; /* owned; each has a mean */
	size_t count;
};

/* The sets of that series which have a result; says on stderr what is missing. Exit code;
 * set_series_finish in every case. */
int set_series_load(
	const char *command, struct store *store, const char *name, struct set_series *series);
void set_series_finish(struct set_series *series);

/* The first whose terms or method are not those of the first test, so that they do not compare;
 * NULL: none. */
const struct set_test *set_series_unlike(const struct set_series *series);

/* What holds of the test at that place. */
struct acceptance_at set_series_judge(const struct set_series *series, size_t at);

#endif
