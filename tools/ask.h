/* SPDX-License-Identifier: MIT
 *
 * Asking a person at the terminal, or a scanner, which is a keyboard.
 */
#ifndef TOOLS_ASK_H
#define TOOLS_ASK_H

#include <stdbool.h>
#include <stddef.h>

/* Shows the question, where standard input is a terminal, and takes a line without the blanks at
 * its ends. False: the input ended, or the line was empty. One that does not fit is asked for
 * again. */
bool ask_line(const char *question, char *text, size_t size);

#endif
