/* SPDX-License-Identifier: MIT
 *
 * The option -o FILE of commands that draw: pages or text into a file that is either there whole or
 * not there at all. Functions that fail have said so already and give the exit code.
 */
#ifndef TOOLS_OUTPUT_H
#define TOOLS_OUTPUT_H

#include "draw/page_write.h"
#include "draw/run_picture.h"

#include <argp.h>

/* -o FILE as an argp child; input: const char **, left alone where the option is not given. */
extern const struct argp output_argp;

struct output; /* a file being written */

/* NULL when it cannot be; then it was said why. */
struct output *output_open(const char *command, const char *path);
/* A page_take. */
bool output_take(void *context, const void *bytes, size_t count);
/* Puts the file in its place, if all went well (good); removes what there is of it otherwise. */
int output_close(struct output *output, bool good);

/* Says so where the name asks for no format that a page has. */
bool output_format(const char *command, const char *path, enum page_format *format);
/* The page (NULL: memory was short) as a file; takes the page. */
int output_page(const char *command, const char *path, enum page_format format, struct page *page,
	const struct page_about *about);
/* The run's picture, in the format that the name asks for. */
int output_picture(const char *command, const char *path, const struct run_picture *picture,
	const struct page_about *about);

#endif
