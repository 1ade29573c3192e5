/* SPDX-License-Identifier: MIT
 *
 * Lines of the control socket, both ways: whatever comes is read or refused with a reason, and a
 * request that was read is written and read again as the same.
 */
#include "fuzz.h"

#include "wire/live.h"
#include "wire/request.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

static void try_request(const char *line, size_t length)
{
	struct request request, again;
	struct message why = {""};

	if (request_read(line, length, &request, &why)) {
		char *text = request_line(&request);

		assert(text && request_read(text, strlen(text) - 1, &again, &why));
		assert(again.ask == request.ask && again.run == request.run);
		assert(strcmp(again.press, request.press) == 0);
		assert(strcmp(again.specimen.id, request.specimen.id) == 0);
		request_finish(&again);
		free(text);
	} else {
		assert(why.text[0]);
	}
	request_finish(&request);
}

static void try_live(const char *line, size_t length)
{
	struct live_line read;
	struct message why = {""};
	char buffer[LIVE_LINE_SIZE];
	struct text text;

	if (!live_read(line, length, &read, &why)) {
		assert(why.text[0]);
		return;
	}
	text_init(&text, buffer, sizeof buffer);
	if (read.kind == LIVE_SAMPLE)
		live_write_sample(
			&text, read.press, &read.sample, (struct mono_time){0}, read.skipped);
	if (read.kind == LIVE_EVENT)
		live_write_event(&text, read.press, &read.event, (struct mono_time){0});
	live_line_finish(&read);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	try_request((const char *)data, size);
	try_live((const char *)data, size);
	return 0;
}
