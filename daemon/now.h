/* SPDX-License-Identifier: MIT
 *
 * The two clocks, read. The monotonic one is uv_hrtime's, CLOCK_MONOTONIC on Linux.
 */
#ifndef DAEMON_NOW_H
#define DAEMON_NOW_H

#include "base/clocks.h"

#include <time.h>
#include <uv.h>

static inline struct mono_time now_mono(void)
{
	return (struct mono_time){(int64_t)uv_hrtime()};
}

static inline struct utc_time now_utc(void)
{
	struct timespec now;

	clock_gettime(CLOCK_REALTIME, &now);
	return (struct utc_time){(int64_t)now.tv_sec * CLOCKS_NS_PER_S + now.tv_nsec};
}

/* The wall-clock time that a moment not long ago had, as the wall clock stands now. */
static inline struct utc_time now_utc_at(struct mono_time time)
{
	return (struct utc_time){now_utc().ns - (now_mono().ns - time.ns)};
}

#endif
