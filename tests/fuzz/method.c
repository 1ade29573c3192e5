/* SPDX-License-Identifier: MIT
 *
 * A laboratory's file of a test method: refused with an error, or taken.
 */
#include "fuzz.h"

#include "result/method_read.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

static void count(void *context, const char *text)
{
	assert(text[0] != '\0');
	++*(size_t *)context;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	static struct method method;
	size_t error_count = 0;
	char *text = malloc(size + 1);
	assert(text != NULL);
	memcpy(text, data, size);
	text[size] = '\0';
	bool good = method_read(text, size, "/lab/yard-1.ini", &method, count, &error_count);
	assert(good == (error_count == 0));
	assert(!good || (strcmp(method.name, "yard-1") == 0 && strcmp(method.text, text) == 0));
	free(text);
	return 0;
}
