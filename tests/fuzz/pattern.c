/* SPDX-License-Identifier: MIT
 *
 * Any first line as the pattern of a plain line: compiled, or refused with a reason fit to print;
 * then the rest as the wire that it is matched with.
 */
#include "wire.h"

#include <assert.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	static struct decoder_setup setup;
	struct message why = {""};
	char text[PATTERN_SIZE + 8];
	const uint8_t *end = size > 0 ? memchr(data, '\n', size) : NULL;
	size_t length = end ? (size_t)(end - data) : size;
	if (length >= sizeof text || (length > 0 && memchr(data, '\0', length)))
		return 0;
	if (length > 0)
		memcpy(text, data, length);
	text[length] = '\0';
	if (!pattern_compile(text, &setup.pattern, &why)) {
		assert(why.text[0]);
		return 0;
	}
	assert(setup.pattern.step_count > 0 && setup.pattern.step_count <= PATTERN_STEPS_MAX);
	assert(setup.pattern.word_count <= PATTERN_WORDS_MAX);
	if (end)
		wire_try("plain", &setup, end + 1, size - length - 1);
	return 0;
}
