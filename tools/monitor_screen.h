/* SPDX-License-Identifier: MIT
 *
 * The monitor's full screen: state -> ncurses. Everything is said by words and form; colour and
 * emphasis only repeat it.
 */
#ifndef TOOLS_MONITOR_SCREEN_H
#define TOOLS_MONITOR_SCREEN_H

#include "monitor_state.h"

#include <stdio.h>

/* Takes the terminal over; false where ncurses does not know it (why says so). */
bool monitor_screen_open(FILE *out, FILE *in, struct message *why);
void monitor_screen_close(void);

/* The terminal has another size now. */
void monitor_screen_resize(void);

enum monitor_key {
	MONITOR_KEY_NONE, /* no more input waits */
	MONITOR_KEY_OTHER,
	MONITOR_KEY_QUIT,
	MONITOR_KEY_HELP,
	MONITOR_KEY_NEXT,
	MONITOR_KEY_ALL,
};
enum monitor_key monitor_screen_key(void);

void monitor_screen_draw(const struct monitor_state *state);
void monitor_screen_draw_help(void);

#endif
