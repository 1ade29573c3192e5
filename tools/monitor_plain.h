/* SPDX-License-Identifier: MIT
 *
 * The monitor as lines, one per change: for a log, a pipe or a screen reader.
 */
#ifndef TOOLS_MONITOR_PLAIN_H
#define TOOLS_MONITOR_PLAIN_H

#include "monitor_state.h"

#include <stdio.h>

/* Writes the line for the news, if it deserves one. Where a press was asked for,
 * news of others is left out. */
void monitor_plain_put(
	const struct monitor_state *state, const struct monitor_news *news, FILE *out);

/* The connection came or went. */
void monitor_plain_put_connection(const struct monitor_state *state, FILE *out);

#endif
