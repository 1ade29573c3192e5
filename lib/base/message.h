/* SPDX-License-Identifier: MIT
 *
 * One sentence for a person: what went wrong, where, and what to do about it.
 * Caller's memory, no allocation; a text too long for the buffer is cut at its end, never overrun.
 */
#ifndef BASE_MESSAGE_H
#define BASE_MESSAGE_H

#include <stdbool.h>

enum { MESSAGE_SIZE = 400 };

struct message {
	char text[MESSAGE_SIZE];
};

/* Writes the text (printf form) into the message; message may be NULL (then nothing happens).
 * Always returns false, so that a failing function can `return message_set(why, ...)`. */
bool message_set(struct message *message, const char *format, ...)
	__attribute__((format(printf, 2, 3)));

#endif
