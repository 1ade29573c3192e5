/* SPDX-License-Identifier: MIT
 *
 * What the sub-commands' options have in common, as argp parsers to be used as children: the input
 * of each child is a pointer to the value it sets.
 */
#ifndef TOOLS_OPTIONS_H
#define TOOLS_OPTIONS_H

#include "base/clocks.h"

#include <argp.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

extern const struct argp options_database; /* input: const char **, set to its default first */
extern const struct argp options_socket;   /* input: const char **, set to its default first */
extern const struct argp options_json;     /* input: bool * */

/* argp's version text and exit code; once, at start. */
void options_set_up(void);

/* Copies a name typed by a person; argp_error's exit where it is empty or does not fit. */
void options_name(
	struct argp_state *state, const char *what, const char *typed, char *name, size_t size);
/* The one PRESS of a command, into press, which is empty first; argp_error's exit at a second. */
void options_press(struct argp_state *state, const char *typed, char *press, size_t size);
/* A time as ISO 8601; argp_error's exit on anything else. */
struct utc_time options_time(struct argp_state *state, const char *option, const char *typed);
/* A whole number from 1 on; argp_error's exit on anything else. */
int64_t options_number(struct argp_state *state, const char *what, const char *typed);

#endif
