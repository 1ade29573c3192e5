/* SPDX-License-Identifier: MIT
 *
 * RFC 5545: lines end with CR LF (3.1), are folded before they have more than 75 octets, never
 * within a character (3.1), and in a text backslash, semicolon, comma and line end are escaped
 * (3.3.11).
 */
#include "result/calendar.h"

#include <stdio.h>
#include <string.h>

enum { LINE_OCTETS_MAX = 75, LINE_SIZE = 1024, UTC_SIZE = 20 };

static void put_folded(struct text *text, const char *line)
{
	size_t room = LINE_OCTETS_MAX;
	while (*line) {
		size_t length = 1; /* of the next character */
		while (((unsigned char)line[length] & 0xc0) == 0x80)
			length++;
		if (length > room) {
			text_put(text, "\r\n ");
			room = LINE_OCTETS_MAX - 1;
		}
		text_put_bytes(text, line, length);
		room -= length;
		line += length;
	}
	text_put(text, "\r\n");
}

static void put_escaped(struct text *line, const char *value)
{
	for (; *value; value++) {
		if (strchr("\\;,", *value))
			text_put(line, "\\");
		text_put_bytes(line, value, 1);
	}
}

static void put_text(struct text *text, const char *name, const char *value)
{
	char buffer[LINE_SIZE];
	struct text line;
	text_init(&line, buffer, sizeof buffer);
	text_put(&line, name);
	text_put(&line, ":");
	put_escaped(&line, value);
	text->overflow = text->overflow || line.overflow;
	put_folded(text, buffer);
}

/* "20261216T083000Z", to the second. */
static void put_time(struct text *text, const char *name, struct utc_time time)
{
	char iso[CLOCKS_UTC_TEXT_SIZE], line[64];
	clocks_utc_text(time, iso); /* YYYY-MM-DDTHH:MM:SS.mmmZ */
	snprintf(line, sizeof line, "%s:%.4s%.2s%.5s%.2s%.2sZ", name, iso, iso + 5, iso + 8,
		iso + 14, iso + 17);
	put_folded(text, line);
}

/* The same specimen is the same event each time, and no other specimen's: whatever stands in its
 * name, its bytes in hexadecimal are unique and plain. */
static void put_uid(struct text *text, const char *id)
{
	char buffer[2 * SPECIMEN_NAME_SIZE + 32];
	struct text line;
	text_init(&line, buffer, sizeof buffer);
	text_put(&line, "UID:specimen-");
	for (; *id; id++)
		text_format(&line, "%02x", (unsigned char)*id);
	text_put(&line, "@ramplog");
	put_folded(text, buffer);
}

void calendar_begin(struct text *text)
{
	text_put(text, "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//ramplog//due//EN\r\n");
}

void calendar_event(struct text *text, const struct specimen *specimen, int64_t intended_age_ns,
	struct utc_time stamp)
{
	const struct method *method = method_find(specimen->method);
	struct age_due due = {.at = {specimen->cast.ns + intended_age_ns}};
	due.from = due.until = due.at;
	char age[AGE_TEXT_SIZE], value[LINE_SIZE / 2], at[CLOCKS_UTC_TEXT_SIZE];
	if (method)
		due = age_due(method, specimen->cast, intended_age_ns);
	age_text(intended_age_ns, age);
	clocks_utc_text(due.at, at);
	text_put(text, "BEGIN:VEVENT\r\n");
	put_uid(text, specimen->id);
	put_time(text, "DTSTAMP", stamp);
	put_time(text, "DTSTART", due.from);
	/* The end of an event lies behind its begin; where the method has no tolerance it has none.
	 */
	if (due.until.ns > due.from.ns)
		put_time(text, "DTEND", due.until);
	snprintf(value, sizeof value, "test %s (%s)", specimen->id, age);
	put_text(text, "SUMMARY", value);
	snprintf(value, sizeof value, "due %.16sZ%s%s; %s", at, specimen->set[0] ? "; set " : "",
		specimen->set, method ? method->standard : specimen->method);
	put_text(text, "DESCRIPTION", value);
	text_put(text, "END:VEVENT\r\n");
}

void calendar_end(struct text *text)
{
	text_put(text, "END:VCALENDAR\r\n");
}
