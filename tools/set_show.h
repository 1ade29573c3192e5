/* SPDX-License-Identifier: MIT
 *
 * Sets and series for a person, and as JSON.
 */
#ifndef TOOLS_SET_SHOW_H
#define TOOLS_SET_SHOW_H

#include "set_tests.h"

#include <jansson.h>

void set_show(const struct set_test *test);
json_t *set_show_json(const struct set_test *test);

/* tests: by sampling, each with a mean. False: memory was short. */
bool set_show_series(const char *series, const struct set_test *const *tests, size_t count);
/* Whether every criterion that can be judged is met. */
bool set_show_met(const struct set_test *const *tests, size_t count);

#endif
