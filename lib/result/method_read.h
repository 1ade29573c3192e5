/* SPDX-License-Identifier: MIT
 *
 * The format of a method's file, which docs/adding-a-method.md explains.
 */
#ifndef RESULT_METHOD_READ_H
#define RESULT_METHOD_READ_H

#include "result/method.h"

/* One sentence for a person, "FILE:LINE: ..." */
typedef void method_complain(void *context, const char *text);

/* Reads the text (size bytes, none a NUL, and one behind them) into the method, which refers to it
 * from then on. Every error is told, with source standing for the file; false if there was any. */
bool method_read(const char *text, size_t size, const char *source, struct method *method,
	method_complain *complain, void *context);

#endif
