/* SPDX-License-Identifier: MIT
 *
 * A wall clock that can be set back by an hour for one program: linked into a daemon of the tests'
 * own in the place of clock_gettime. It is back for as long as the file named by
 * RAMPLOG_TEST_CLOCK_BACK is there.
 */
#include <stdlib.h>
#include <time.h>
#include <unistd.h>

int __real_clock_gettime(clockid_t clock, struct timespec *now);
int __wrap_clock_gettime(clockid_t clock, struct timespec *now);

int __wrap_clock_gettime(clockid_t clock, struct timespec *now)
{
	const char *back = getenv("RAMPLOG_TEST_CLOCK_BACK");
	int failed = __real_clock_gettime(clock, now);
	if (!failed && clock == CLOCK_REALTIME && back != NULL && access(back, F_OK) == 0)
		now->tv_sec -= 3600;
	return failed;
}
