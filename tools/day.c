/* SPDX-License-Identifier: MIT */
#include "day.h"

#include <time.h>

int64_t day_begins_ns(struct utc_time now, int days)
{
	time_t seconds = now.ns / CLOCKS_NS_PER_S;
	struct tm local;
	localtime_r(&seconds, &local);
	local.tm_mday += days;
	local.tm_hour = local.tm_min = local.tm_sec = 0;
	local.tm_isdst = -1;
	return (int64_t)mktime(&local) * CLOCKS_NS_PER_S;
}
