/* SPDX-License-Identifier: MIT
 *
 * The log keeps the only file-scope state outside main.c: the level and whether the journal reads.
 * Both are written once, before threads start.
 */
#include "log.h"

#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

enum { LINE_SIZE = 1024 };

static enum log_level highest = LOG_INFO;
static bool journal;

/* sd-daemon(3): a line that starts with <N> has the syslog priority N. */
static const char *const PRIORITIES[] = {
	[LOG_ERROR] = "<3>",
	[LOG_WARNING] = "<4>",
	[LOG_INFO] = "<6>",
	[LOG_DEBUG] = "<7>",
};

void log_init(enum log_level level)
{
	highest = level;
	journal = getenv("JOURNAL_STREAM") != NULL;
}

void log_line(enum log_level level, const char *format, ...)
{
	char line[LINE_SIZE];
	va_list arguments;

	if (level > highest)
		return;
	int start = snprintf(line, sizeof line, "%sramplogd: ", journal ? PRIORITIES[level] : "");
	va_start(arguments, format);
	int length = vsnprintf(line + start, sizeof line - (size_t)start - 1, format, arguments);
	va_end(arguments);
	if (length < 0)
		return;
	size_t end = (size_t)start + (size_t)length;
	if (end > sizeof line - 2)
		end = sizeof line - 2;
	line[end] = '\n';
	/* Nothing can be done about a log that takes no more. */
	ssize_t written = write(STDERR_FILENO, line, end + 1);
	(void)written;
}
