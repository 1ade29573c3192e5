/* SPDX-License-Identifier: MIT
 *
 * The files of methods/ as text, made part of the program when it is built.
 */
#ifndef RESULT_METHOD_FILES_H
#define RESULT_METHOD_FILES_H

#include <stddef.h>

struct method_file {
	const char *name; /* "astm-c39.ini"; NULL: the end */
	const char *text; /* a NUL ends it ... */
	size_t size;      /* ... which is not counted */
};

extern const struct method_file method_files[];

#endif
