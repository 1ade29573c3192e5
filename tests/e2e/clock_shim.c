/* SPDX-License-Identifier: MIT
 *
 * Other clocks for one program, linked into a daemon of the tests' own in the place of
 * clock_gettime and uv_timer_start. For as long as the file named by RAMPLOG_TEST_CLOCK_BACK is
 * there, the wall clock is an hour back, and by the one named by RAMPLOG_TEST_CLOCK_AHEAD 400 days
 * ahead. Where RAMPLOG_TEST_HOUR_MS is set, an hour of the loop's timers takes so long.
 */
#include <stdlib.h>
#include <time.h>
#include <unistd.h>
#include <uv.h>

enum { HOUR_S = 3600, AHEAD_S = 400 * 24 * HOUR_S };

int __real_clock_gettime(clockid_t clock, struct timespec *now);
int __wrap_clock_gettime(clockid_t clock, struct timespec *now);
int __real_uv_timer_start(uv_timer_t *timer, uv_timer_cb call, uint64_t in_ms, uint64_t each_ms);
int __wrap_uv_timer_start(uv_timer_t *timer, uv_timer_cb call, uint64_t in_ms, uint64_t each_ms);

static int is_there(const char *variable)
{
	const char *path = getenv(variable);
	return path != NULL && access(path, F_OK) == 0;
}

int __wrap_clock_gettime(clockid_t clock, struct timespec *now)
{
	int failed = __real_clock_gettime(clock, now);
	if (failed || clock != CLOCK_REALTIME)
		return failed;
	if (is_there("RAMPLOG_TEST_CLOCK_BACK"))
		now->tv_sec -= HOUR_S;
	if (is_there("RAMPLOG_TEST_CLOCK_AHEAD"))
		now->tv_sec += AHEAD_S;
	return 0;
}

int __wrap_uv_timer_start(uv_timer_t *timer, uv_timer_cb call, uint64_t in_ms, uint64_t each_ms)
{
	const char *hour = getenv("RAMPLOG_TEST_HOUR_MS");
	if (hour != NULL && in_ms == HOUR_S * 1000)
		in_ms = each_ms = strtoull(hour, NULL, 10);
	return __real_uv_timer_start(timer, call, in_ms, each_ms);
}
