/* SPDX-License-Identifier: MIT
 *
 * Messages: always false, never overrun, always UTF-8.
 */
#include "base/message.h"
#include "base/text.h"
#include "unit/check.h"

#include <string.h>

static void a_message_is_written_and_false(void **state)
{
	(void)state;
	struct message message;
	assert_false(message_set(&message, "%s:%d: no", "press.conf", 7));
	assert_string_equal(message.text, "press.conf:7: no");
	assert_false(message_set(NULL, "nobody asked"));
}

static void a_long_message_is_cut_between_characters(void **state)
{
	(void)state;
	char longest[2 * MESSAGE_SIZE];
	for (size_t offset = 0; offset < 4; offset++) {
		struct message message;
		memset(longest, 'x', sizeof(longest));
		for (size_t i = offset; i + 4 < sizeof(longest); i += 3)
			memcpy(longest + i, "\xe2\x89\xa4", 3); /* less than or equal */
		longest[sizeof(longest) - 4] = '\0';
		message_set(&message, "%s", longest);
		assert_true(strlen(message.text) >= MESSAGE_SIZE - 4);
		assert_true(strlen(message.text) < MESSAGE_SIZE);
		assert_true(text_is_printable(message.text));
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_message_is_written_and_false),
		cmocka_unit_test(a_long_message_is_cut_between_characters),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
