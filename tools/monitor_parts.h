/* SPDX-License-Identifier: MIT
 *
 * The parts of the monitor's screen, from the load to the cells. Only for monitor_screen.c.
 *
 *     row 0        press, phase, run and time
 *     rows 2-6     the load in large digits; beside it the maximum, the stress, the specimen
 *     row 8        the advice, in the daemon's words
 *     rows 10, 11  the rate against its band
 *     rows 12-     the curve so far; beside it the last results
 *     last three   the newest event, the cells, the keys
 */
#ifndef TOOLS_MONITOR_PARTS_H
#define TOOLS_MONITOR_PARTS_H

#include "draw/text_plot.h"
#include "monitor_state.h"

enum {
	MONITOR_PARTS_LEFT = 1,         /* columns left free on both sides */
	MONITOR_PARTS_ROW_LOAD = 2,     /* first row of the large digits */
	MONITOR_PARTS_LINE_SIZE = 1024, /* bytes; a line of the widest terminal in UTF-8 */
	MONITOR_PARTS_PAIR_WARNING = 1, /* of colours */
};

/* Where the parts stand on a terminal of this size. */
struct monitor_layout {
	int rows, columns;
	size_t scale; /* of the large digits */
	int side;     /* first column of the right-hand side */
	int advice, rate, curve, event;
	enum text_plot_style style;
};

/* A text at a place, cut at the column end; bytes that would spoil the screen are left out. */
void monitor_parts_put(int row, int column, int end, const char *text);

void monitor_parts_draw(const struct monitor_layout *layout, const struct monitor_state *state,
	const struct monitor_press *press);

#endif
