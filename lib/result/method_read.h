/* SPDX-License-Identifier: MIT
 *
 * The format of a method's file, which docs/adding-a-method.md explains.
 */
#ifndef RESULT_METHOD_READ_H
#define RESULT_METHOD_READ_H

#include "result/method.h"

/* One sentence for a person, "FILE:LINE: ..." */
typedef void method_complain(void *context, const char *text);

/* Reads the text (size bytes, no NUL among them) into the method. Every error is told, with source
 * standing for the file; false if there was any. The text is kept in the method. */
bool method_read(const char *text, size_t size, const char *source, struct method *method,
	method_complain *complain, void *context);

#endif
