/* SPDX-License-Identifier: MIT
 *
 * A bounded writer of text with a sticky overflow mark: write many pieces, test once at the end.
 * Caller's memory; the buffer is a valid C string at any moment.
 */
#ifndef BASE_TEXT_H
#define BASE_TEXT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct text {
	char *start;
	size_t size;   /* of the buffer, in bytes, including the final NUL; at least 1 */
	size_t length; /* written so far, excluding the final NUL */
	bool overflow; /* something did not fit and was left out; sticky */
};

void text_init(struct text *text, char *buffer, size_t size);
void text_put(struct text *text, const char *string);
void text_put_bytes(struct text *text, const char *bytes, size_t length);
void text_format(struct text *text, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* Integers without printf, for lines written many times a second. */
void text_integer(struct text *text, int64_t value);
/* value / 10^places in fixed point: (1234, 2) -> 12.34 */
void text_fixed(struct text *text, int64_t value, int places);
/* As a JSON string with its quotes; control characters, quotes and backslashes escaped. */
void text_json_string(struct text *text, const char *string);

/* True for valid UTF-8 without control characters: fit for a name, a line of a table, JSON. */
bool text_is_printable(const char *string);
/* Makes it so, in place: what is no UTF-8, controls, and what turns the text about it around become
 * question marks, line ends and tabs blanks. */
void text_make_printable(char *string);

#endif
