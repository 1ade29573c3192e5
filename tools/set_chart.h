/* SPDX-License-Identifier: MIT
 *
 * The control chart of a series on a page.
 */
#ifndef TOOLS_SET_CHART_H
#define TOOLS_SET_CHART_H

#include "set_series.h"

/* Tests that are alike, at least one. In the format that the file's name asks for. Exit code. */
int set_chart(const char *command, const char *path, const struct set_series *series);

#endif
