/* SPDX-License-Identifier: MIT
 *
 * The methods that there are: those built in, and those that a laboratory added. They are read
 * once, at the first question and before a program has threads, and never changed afterwards; so
 * they are kept in one place for the whole program. From then on any thread may ask.
 */
#ifndef RESULT_METHODS_H
#define RESULT_METHODS_H

#include "result/method_read.h"

enum { METHODS_MAX = 64 };

/* Reads one more file's text; one with a name that there is already takes its place. False: why was
 * told to complain, and what there was stays. source is kept, as far as it fits. */
bool methods_add(const char *text, size_t size, const char *source, method_complain *complain,
	void *context);

/* In the order of their names; method_find, of method.h, looks for one. */
size_t methods_count(void);
const struct method *methods_at(size_t index);
/* The file it came from; "" for one that is built in. */
const char *methods_source(const struct method *method);

/* The built-in one with that name, whatever was added: what older programs judged by. */
const struct method *methods_built_in(const char *name);

/* The method of a stored run, from the text that was stored with it: the one in force where that
 * has the same text, else one that is kept from now on. NULL where the text cannot be read. */
const struct method *methods_recorded(const char *name, const char *text);

#endif
