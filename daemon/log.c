/* SPDX-License-Identifier: MIT
 *
 * The log keeps the only file-scope state outside main.c: the level and whether the journal reads.
 * Both are written once, before threads start; and how many lines nobody took, from all threads.
 */
#include "log.h"

#include <poll.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

enum { LINE_SIZE = 1024 };

static enum log_level highest = LOG_INFO;
static bool journal;
static atomic_uint left_out;

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

/* A terminal that was stopped, or a pipe that nobody reads, must not stop the press. A line is
 * shorter than what a pipe promises to take whole once it takes anything (pipe(7)). */
static bool takes_a_line(void)
{
	struct pollfd log = {STDERR_FILENO, POLLOUT, 0};

	return poll(&log, 1, 0) != 0;
}

static void put(const char *line, size_t length)
{
	char note[80];

	if (!takes_a_line()) {
		atomic_fetch_add(&left_out, 1);
		return;
	}
	unsigned count = atomic_exchange(&left_out, 0);
	int noted = snprintf(note, sizeof note,
		"ramplogd: %u lines were left out: nobody read the log\n", count);
	/* Nothing can be done about a log that takes no more. */
	ssize_t written = count ? write(STDERR_FILENO, note, (size_t)noted) : 0;
	written += write(STDERR_FILENO, line, length);
	(void)written;
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
	put(line, end + 1);
}
