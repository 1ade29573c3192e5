/* SPDX-License-Identifier: MIT */
#include "ask.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

bool ask_line(const char *question, char *text, size_t size)
{
	char line[256];
	for (;;) {
		if (isatty(STDIN_FILENO))
			fputs(question, stderr);
		if (!fgets(line, sizeof line, stdin))
			return false;
		size_t length = strlen(line);
		while (length > 0 && isspace((unsigned char)line[length - 1]))
			line[--length] = '\0';
		const char *begin = line + strspn(line, " \t");
		length = strlen(begin);
		if (length == 0)
			return false;
		if (length < size) {
			memcpy(text, begin, length + 1);
			return true;
		}
		fprintf(stderr, "'%s' is too long: at most %zu bytes\n", begin, size - 1);
	}
}
