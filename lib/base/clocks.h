/* SPDX-License-Identifier: MIT
 *
 * Two clocks, two types, so that the compiler refuses to mix them. All arithmetic on time uses
 * the monotonic one; wall-clock time is for people and for the record. lib/ reads no clock: times
 * are arguments.
 */
#ifndef BASE_CLOCKS_H
#define BASE_CLOCKS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define CLOCKS_NS_PER_S INT64_C(1000000000)
#define CLOCKS_NS_PER_MS INT64_C(1000000)

/* Nanoseconds on a clock that never steps; the origin is arbitrary (boot, a file's zero). */
struct mono_time {
	int64_t ns;
};

/* Nanoseconds since 1970-01-01T00:00:00Z. */
struct utc_time {
	int64_t ns;
};

enum { CLOCKS_UTC_TEXT_SIZE = 32 };

/* Writes ISO 8601 with milliseconds, e.g. "2026-03-02T14:05:09.250Z". text holds at least
 * CLOCKS_UTC_TEXT_SIZE bytes. Years 1970 to 2261 (the range of utc_time). */
void clocks_utc_text(struct utc_time time, char *text);

/* Reads ISO 8601: "YYYY-MM-DD", "YYYY-MM-DDTHH:MM[:SS[.fff]]" with "Z" or "+HH:MM"/"-HH:MM".
 * A time of day needs a zone; a date alone is midnight UTC. False on anything else. */
bool clocks_utc_parse(const char *text, struct utc_time *time);

/* The same time of day so many calendar months later (UTC); where that month has no such day, its
 * last one: a month after January 31 is February 28. */
struct utc_time clocks_utc_months_later(struct utc_time time, int months);

#endif
