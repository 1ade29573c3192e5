/* SPDX-License-Identifier: MIT
 *
 * Sets and series for a person, and as JSON.
 */
#ifndef TOOLS_SET_SHOW_H
#define TOOLS_SET_SHOW_H

#include "result/control.h"
#include "set_series.h"

#include "base/text.h"

#include <jansson.h>

static const double set_show_mpa = 1e-6; /* a strength in pascals times this is in MPa */

bool set_show_inch_pound(const struct set_test *test);
/* Of the runs that count, how many are not reportable. */
size_t set_show_marked(const struct set_test *test);
/* "31.7 MPa", "-" of none. */
struct text set_show_stress(char *buffer, size_t size, bool inch_pound, double stress_pa);
void set_show(const struct set_test *test);
json_t *set_show_json(const struct set_test *test);

/* Of tests that are alike, at least one. False: memory was short. */
bool set_show_series(const struct set_series *series);
json_t *set_series_json(const struct set_series *series); /* NULL: memory was short */
/* Whether every criterion that can be judged is met. */
bool set_show_met(const struct set_series *series);
/* "met", or which criterion the test at that place does not meet. */
const char *set_show_verdict(const struct set_series *series, size_t at);

/* The values of the control chart; count of them, the caller's to free. NULL: memory was short. */
struct control_point *set_show_points(const struct set_series *series, struct control *control);

#endif
