/* SPDX-License-Identifier: MIT
 *
 * The last results of each press from the daemon's database, so that a monitor that has just been
 * started shows more than what it saw itself. Where the database cannot be read (another machine's
 * group, no permission) there is no history, and nothing else is lost.
 */
#ifndef TOOLS_MONITOR_HISTORY_H
#define TOOLS_MONITOR_HISTORY_H

#include "monitor_state.h"

void monitor_history_add(struct monitor_state *state);

#endif
