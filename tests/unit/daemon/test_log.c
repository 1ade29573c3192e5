/* SPDX-License-Identifier: MIT
 *
 * A log that nobody reads.
 */
#include "log.h"

#include "unit/check.h"

#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

/* Lines into a full pipe come back at once and are counted. */
static void test_full_pipe_stops_nobody(void **state)
{
	char text[128 * 1024];
	int ends[2], before = dup(STDERR_FILENO);
	(void)state;
	assert_int_equal(pipe2(ends, O_CLOEXEC), 0);
	assert_int_equal(fcntl(ends[0], F_SETFL, O_NONBLOCK), 0);
	fflush(stderr);
	dup2(ends[1], STDERR_FILENO);
	alarm(20);
	for (int i = 0; i < 10000; i++)
		log_line(LOG_ERROR, "line %d of many", i);
	ssize_t length = read(ends[0], text, sizeof text - 1);
	log_line(LOG_ERROR, "the last");
	ssize_t more = read(ends[0], text + length, sizeof text - 1 - (size_t)length);
	alarm(0);
	dup2(before, STDERR_FILENO);
	assert_true(length > 0 && more > 0);
	text[length + more] = '\0';
	assert_int_equal(strncmp(text, "ramplogd: line 0 of many\n", 25), 0);
	const char *note = strstr(text, "lines were left out");
	assert_non_null(note);
	assert_non_null(strstr(note, "\nramplogd: the last\n"));
}

int main(void)
{
	const struct CMUnitTest tests[] = {cmocka_unit_test(test_full_pipe_stops_nobody)};

	log_init(LOG_INFO);
	return cmocka_run_group_tests(tests, NULL, NULL);
}
