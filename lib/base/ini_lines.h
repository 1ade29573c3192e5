/* SPDX-License-Identifier: MIT
 *
 * INI files, strictly: inih takes the lines apart, and the layer here refuses what inih lets pass
 * (a line that it would cut, a continuation line, a zero byte, a key before the first section, a
 * line that is neither section nor key). Every error is told with its line; reading goes on.
 */
#ifndef BASE_INI_LINES_H
#define BASE_INI_LINES_H

#include <stdio.h>

enum { INI_LINES_MAX = 190 }; /* bytes of a line: inih's own buffer holds 200 */

struct ini_lines {
	void *context;
	/* text: what stands between the brackets; may be changed */
	void (*section)(void *context, int line, char *text);
	void (*key)(void *context, int line, const char *name, const char *value);
	void (*wrong)(void *context, int line, const char *what);
};

/* Reads the stream to its end. Lines count from 1. */
void ini_lines_parse(const struct ini_lines *lines, FILE *file);

#endif
