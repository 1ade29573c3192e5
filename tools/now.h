/* SPDX-License-Identifier: MIT
 *
 * The wall clock, read: the commands' one way to a time.
 */
#ifndef TOOLS_NOW_H
#define TOOLS_NOW_H

#include "base/clocks.h"

#include <time.h>

static inline struct utc_time now(void)
{
	struct timespec time;

	clock_gettime(CLOCK_REALTIME, &time);
	return (struct utc_time){(int64_t)time.tv_sec * CLOCKS_NS_PER_S + time.tv_nsec};
}

#endif
