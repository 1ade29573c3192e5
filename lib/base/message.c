/* SPDX-License-Identifier: MIT
 *
 * The one writer of messages. A text that is too long is cut between characters, so that what is
 * left is still UTF-8 (the JSON library refuses anything else).
 */
#include "base/message.h"

#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>

/* Takes an unfinished UTF-8 sequence off the end of a text that was cut at length. */
static void drop_partial_character(char *text, size_t length)
{
	size_t start = length;
	while (start > 0 && ((unsigned char)text[start - 1] & 0xc0) == 0x80)
		start--;
	if (start > 0 && (unsigned char)text[start - 1] >= 0xc0)
		text[start - 1] = '\0';
}

bool message_set(struct message *message, const char *format, ...)
{
	if (!message)
		return false;
	va_list arguments;
	va_start(arguments, format);
	int length = vsnprintf(message->text, sizeof(message->text), format, arguments);
	va_end(arguments);
	if (length < 0)
		message->text[0] = '\0';
	else if ((size_t)length >= sizeof(message->text))
		drop_partial_character(message->text, sizeof(message->text) - 1);
	return false;
}
