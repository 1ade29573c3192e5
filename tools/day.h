/* SPDX-License-Identifier: MIT
 *
 * The laboratory's own day.
 */
#ifndef TOOLS_DAY_H
#define TOOLS_DAY_H

#include "base/clocks.h"

/* Midnight, where the clock on its wall has it: 0 of the day of now, 1 of the next. In UTC. */
int64_t day_begins_ns(struct utc_time now, int days);

#endif
