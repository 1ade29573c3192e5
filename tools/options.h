/* SPDX-License-Identifier: MIT
 *
 * What the sub-commands' options have in common, as argp parsers to be used as children: the input
 * of each child is a pointer to the value it sets.
 */
#ifndef TOOLS_OPTIONS_H
#define TOOLS_OPTIONS_H

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
/* A whole number from 1 on; argp_error's exit on anything else. */
int64_t options_number(struct argp_state *state, const char *what, const char *typed);

#endif
