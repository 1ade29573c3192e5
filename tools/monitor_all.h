/* SPDX-License-Identifier: MIT
 *
 * The monitor's page of everything that is to be known of a press, each sentence in full: what the
 * screen has room for is the gravest, cut at its edge.
 */
#ifndef TOOLS_MONITOR_ALL_H
#define TOOLS_MONITOR_ALL_H

#include "monitor_state.h"

void monitor_all_draw(const struct monitor_state *state);

#endif
