/* SPDX-License-Identifier: MIT
 *
 * The bounded writer. What does not fit is cut, the mark stays, and since the buffer is full then,
 * nothing can follow the cut.
 */
#include "base/text.h"

#include "base/decimal.h"

#include <assert.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

void text_init(struct text *text, char *buffer, size_t size)
{
	assert(size >= 1);
	*text = (struct text){.start = buffer, .size = size};
	buffer[0] = '\0';
}

void text_put_bytes(struct text *text, const char *bytes, size_t length)
{
	size_t room = text->size - 1 - text->length;
	if (length > room) {
		length = room;
		text->overflow = true;
	}
	memcpy(text->start + text->length, bytes, length);
	text->length += length;
	text->start[text->length] = '\0';
}

void text_put(struct text *text, const char *string)
{
	text_put_bytes(text, string, strlen(string));
}

void text_format(struct text *text, const char *format, ...)
{
	size_t room = text->size - text->length;
	va_list arguments;
	va_start(arguments, format);
	int length = vsnprintf(text->start + text->length, room, format, arguments);
	va_end(arguments);
	if (length >= 0 && (size_t)length < room) {
		text->length += (size_t)length;
		return;
	}
	text->overflow = true;
	text->length = length < 0 ? text->length : text->size - 1;
	text->start[text->length] = '\0';
}

void text_fixed(struct text *text, int64_t value, int places)
{
	char digits[24];
	text_put_bytes(text, digits, decimal_text(value, places, digits));
}

void text_integer(struct text *text, int64_t value)
{
	text_fixed(text, value, 0);
}

/* The two-character escape of RFC 8259, or 0 where there is none. */
static char short_escape(char c)
{
	switch (c) {
	case '"':
	case '\\':
		return c;
	case '\b':
		return 'b';
	case '\f':
		return 'f';
	case '\n':
		return 'n';
	case '\r':
		return 'r';
	case '\t':
		return 't';
	default:
		return 0;
	}
}

void text_json_string(struct text *text, const char *string)
{
	text_put(text, "\"");
	for (const char *at = string; *at != '\0'; at++) {
		char escape = short_escape(*at);
		if (escape != 0)
			text_put_bytes(text, (const char[]){'\\', escape}, 2);
		else if ((unsigned char)*at < 0x20)
			text_format(text, "\\u%04x", (unsigned)(unsigned char)*at);
		else
			text_put_bytes(text, at, 1);
	}
	text_put(text, "\"");
}

/* Length of the UTF-8 character at the string, 0 where there is none; its code point in *code.
 * Overlong forms, surrogates and what lies beyond U+10FFFF are none (RFC 3629). */
static size_t read_character(const unsigned char *at, uint32_t *code)
{
	static const uint32_t least[] = {0, 0, 0x80, 0x800, 0x10000};
	size_t length = at[0] < 0x80                    ? 1
			: at[0] >= 0xc2 && at[0] < 0xe0 ? 2
			: at[0] >= 0xe0 && at[0] < 0xf0 ? 3
			: at[0] >= 0xf0 && at[0] < 0xf5 ? 4
							: 0;
	*code = length == 1 ? at[0] : at[0] & (0xffu >> (length + 1));
	for (size_t i = 1; i < length; i++) {
		if ((at[i] & 0xc0) != 0x80)
			return 0;
		*code = *code << 6 | (at[i] & 0x3fu);
	}
	if (length > 1 && (*code < least[length] || *code > 0x10ffff))
		return 0;
	if (*code >= 0xd800 && *code <= 0xdfff)
		return 0;
	return length;
}

/* Turns the text about it around, or belongs to no text at all (Unicode 15, chapters 23.1
 * and 23.7).
 */
static bool misleads(uint32_t code)
{
	return code < 0x20 || (code >= 0x7f && code < 0xa0) || code == 0x200e || code == 0x200f ||
	       code == 0x061c || (code >= 0x202a && code <= 0x202e) ||
	       (code >= 0x2066 && code <= 0x2069) || (code & 0xfffe) == 0xfffe;
}

void text_make_printable(char *string)
{
	char *to = string;
	for (const char *from = string; *from != '\0';) {
		uint32_t code;
		size_t length = read_character((const unsigned char *)from, &code);
		if (length == 0 || misleads(code)) {
			*to++ = code == '\n' || code == '\t' ? ' ' : '?';
			from += length ? length : 1;
			continue;
		}
		memmove(to, from, length);
		to += length;
		from += length;
	}
	*to = '\0';
}

bool text_is_printable(const char *string)
{
	const unsigned char *at = (const unsigned char *)string;
	while (*at != '\0') {
		uint32_t code;
		size_t length = read_character(at, &code);
		if (length == 0 || code < 0x20 || (code >= 0x7f && code < 0xa0))
			return false;
		at += length;
	}
	return true;
}
