/* SPDX-License-Identifier: MIT */
#include "fields.h"

#include "table.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { BEFORE = 2 }; /* blanks */

/* Characters, which is close enough to columns. */
static size_t width_of(const char *text, size_t bytes)
{
	size_t width = 0;
	for (size_t i = 0; i < bytes; i++)
		width += ((unsigned char)text[i] & 0xc0) != 0x80;
	return width;
}

static void put_words(const char *text, size_t indent)
{
	size_t columns = table_columns(), at = indent;
	for (bool first = true; *text; first = false) {
		size_t bytes = strcspn(text, " "), width = width_of(text, bytes);
		if (!first && at + 1 + width > columns) {
			printf("\n%*s", (int)indent, "");
			at = indent;
		} else if (!first) {
			putchar(' ');
			at++;
		}
		fwrite(text, 1, bytes, stdout);
		at += width;
		text += bytes;
		text += *text == ' ';
	}
	putchar('\n');
}

void fields_put(const char *name, const char *format, ...)
{
	va_list arguments;
	char *value;
	va_start(arguments, format);
	int length = vasprintf(&value, format, arguments);
	va_end(arguments);
	if (length < 0)
		return;
	printf("%*s%-*s", BEFORE, "", FIELDS_NAME_WIDTH, name);
	put_words(value, BEFORE + FIELDS_NAME_WIDTH);
	free(value);
}
