/* SPDX-License-Identifier: MIT
 *
 * inih calls the reader once per line and the handler at most once after it, so the line number is
 * known and a line that led to no call is a malformed one.
 */
#include "base/ini_lines.h"

#include <ini.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

struct reader {
	const struct ini_lines *lines;
	FILE *file;
	int line;
	bool pending; /* the line holds a key, and the handler has not been called for it */
	bool begun;   /* a section was seen */
};

static void say(struct reader *reader, const char *what)
{
	reader->lines->wrong(reader->lines->context, reader->line, what);
}

static void take_section(struct reader *reader, const char *line)
{
	char text[INI_LINES_MAX + 1];
	size_t length = strcspn(line, "]");
	const char *rest = line + length + (line[length] == ']');

	reader->begun = true;
	rest += strspn(rest, " \t\r\n");
	if (line[length] != ']' || (*rest && *rest != ';' && *rest != '#')) {
		say(reader, "a section is one [word] or [word NAME] alone");
		/* what follows belongs to no section that anybody knows */
		reader->lines->section(reader->lines->context, reader->line, NULL);
		return;
	}
	memcpy(text, line + 1, length - 1);
	text[length - 1] = '\0';
	reader->lines->section(reader->lines->context, reader->line, text);
}

/* Complains about the line before, if it led to nothing. */
static void settle_pending(struct reader *reader)
{
	if (reader->pending)
		say(reader, "neither [section] nor key = value");
	reader->pending = false;
}

/* True: the line may go to inih. */
static bool inspect_line(struct reader *reader, const char *line, size_t length)
{
	const char *start = line + strspn(line, " \t\r\n");

	if (length != strlen(line)) {
		say(reader, "the line holds a zero byte: is this the file?");
		return false;
	}
	if (!*start || *start == ';' || *start == '#')
		return length <= INI_LINES_MAX;
	if (length > INI_LINES_MAX) {
		char what[64];

		snprintf(what, sizeof what, "the line is longer than %d bytes: shorten it",
			INI_LINES_MAX);
		say(reader, what);
		return false;
	}
	if (start != line) {
		say(reader, "the line begins with a blank: remove it");
		return false;
	}
	if (*line == '[')
		take_section(reader, line);
	reader->pending = *line != '[';
	return true;
}

/* ini_reader: one line per call. */
static char *read_line(char *buffer, int size, void *stream)
{
	struct reader *reader = stream;
	char *line = NULL;
	size_t room = 0;

	settle_pending(reader);
	ssize_t length = getline(&line, &room, reader->file);
	if (length >= 0) {
		reader->line++;
		bool mark = reader->line == 1 && strncmp(line, "\xEF\xBB\xBF", 3) == 0;
		size_t skip = mark ? 3 : 0;
		bool ok = inspect_line(reader, line + skip, (size_t)length - skip);

		snprintf(buffer, (size_t)size, "%s", ok ? line + skip : "\n");
	}
	free(line);
	return length >= 0 ? buffer : NULL;
}

/* ini_handler: one key. */
static int take_key(void *user, const char *section, const char *name, const char *value)
{
	struct reader *reader = user;
	char what[INI_LINES_MAX + 64];

	(void)section;
	reader->pending = false;
	if (reader->begun) {
		reader->lines->key(reader->lines->context, reader->line, name, value);
		return 1;
	}
	snprintf(what, sizeof what, "%s stands before the first [section]", name);
	say(reader, what);
	return 1;
}

void ini_lines_parse(const struct ini_lines *lines, FILE *file)
{
	struct reader reader = {.lines = lines, .file = file};

	ini_parse_stream(read_line, &reader, take_key, &reader);
	settle_pending(&reader);
}
