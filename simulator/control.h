/* SPDX-License-Identifier: MIT
 *
 * Commands for a running simulator: words on lines of standard input, read without waiting. A
 * person types them; a test writes them where it would otherwise have to sleep.
 */
#ifndef SIMULATOR_CONTROL_H
#define SIMULATOR_CONTROL_H

#include <stdbool.h>
#include <stddef.h>

enum { CONTROL_LINE_MAX = 64 };

struct control {
	int fd; /* -1: nothing is read (any more) */
	size_t length;
	char line[CONTROL_LINE_MAX];
	bool too_long; /* the rest of an overlong line is being thrown away */
};

/* One line without its end. */
typedef void control_take(void *context, const char *line);

void control_init(struct control *control, int fd);
/* Call when fd is readable: takes each complete line. False when the other side has closed. */
bool control_read(struct control *control, control_take *take, void *context);

#endif
