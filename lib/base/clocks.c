/* SPDX-License-Identifier: MIT
 *
 * Wall-clock times as ISO 8601 text and back. The proleptic Gregorian arithmetic is the C
 * library's; this file only knows the text. Free of the locale and of the TZ variable.
 */
#include "base/clocks.h"

#include <stdio.h>
#include <string.h>
#include <time.h>

enum { YEAR_MIN = 1970, YEAR_MAX = 2261 };

/* 2262-01-01T00:00:00Z: an offset must not lead beyond the last year either. */
#define UTC_S_END INT64_C(9214646400)

void clocks_utc_text(struct utc_time time, char *text)
{
	/* Rounded down, also before 1970: a time is never printed later than it was. */
	int64_t seconds = time.ns / CLOCKS_NS_PER_S;
	int64_t rest = time.ns % CLOCKS_NS_PER_S;
	if (rest < 0) {
		seconds--;
		rest += CLOCKS_NS_PER_S;
	}
	time_t moment = (time_t)seconds;
	struct tm tm;
	gmtime_r(&moment, &tm);
	/* Unsigned and reduced, so that the compiler can see that the text fits. */
	snprintf(text, CLOCKS_UTC_TEXT_SIZE, "%04u-%02u-%02uT%02u:%02u:%02u.%03uZ",
		(unsigned)(tm.tm_year + 1900) % 10000, (unsigned)(tm.tm_mon + 1) % 100,
		(unsigned)tm.tm_mday % 100, (unsigned)tm.tm_hour % 100, (unsigned)tm.tm_min % 100,
		(unsigned)tm.tm_sec % 100, (unsigned)(rest / CLOCKS_NS_PER_MS) % 1000);
}

/* A place in the text; ok turns false for good at the first thing that does not fit. */
struct cursor {
	const char *at;
	bool ok;
};

/* Reads exactly so many digits. */
static int take_number(struct cursor *cursor, int digits)
{
	int value = 0;
	for (int i = 0; cursor->ok && i < digits; i++) {
		if (*cursor->at < '0' || *cursor->at > '9')
			cursor->ok = false;
		else
			value = value * 10 + (*cursor->at++ - '0');
	}
	return value;
}

static bool next_is(struct cursor *cursor, char wanted)
{
	if (!cursor->ok || *cursor->at != wanted)
		return false;
	cursor->at++;
	return true;
}

static void expect(struct cursor *cursor, char wanted)
{
	if (!next_is(cursor, wanted))
		cursor->ok = false;
}

/* The digits after a decimal point, one to nine of them, in nanoseconds. */
static int64_t take_fraction_ns(struct cursor *cursor)
{
	int64_t ns = take_number(cursor, 1);
	int digits = 1;
	while (cursor->ok && digits < 9 && *cursor->at >= '0' && *cursor->at <= '9') {
		ns = ns * 10 + take_number(cursor, 1);
		digits++;
	}
	for (; digits < 9; digits++)
		ns *= 10;
	return ns;
}

/* "Z" or an offset, in seconds east of Greenwich. */
static int take_zone_s(struct cursor *cursor)
{
	if (next_is(cursor, 'Z'))
		return 0;
	int sign = 1;
	if (next_is(cursor, '-'))
		sign = -1;
	else
		expect(cursor, '+');
	int hours = take_number(cursor, 2);
	expect(cursor, ':');
	int minutes = take_number(cursor, 2);
	if (hours > 23 || minutes > 59)
		cursor->ok = false;
	return sign * (hours * 3600 + minutes * 60);
}

static void take_date(struct cursor *cursor, struct tm *tm)
{
	tm->tm_year = take_number(cursor, 4) - 1900;
	expect(cursor, '-');
	tm->tm_mon = take_number(cursor, 2) - 1;
	expect(cursor, '-');
	tm->tm_mday = take_number(cursor, 2);
}

static void take_time_of_day(struct cursor *cursor, struct tm *tm, int64_t *fraction_ns)
{
	tm->tm_hour = take_number(cursor, 2);
	expect(cursor, ':');
	tm->tm_min = take_number(cursor, 2);
	if (next_is(cursor, ':')) {
		tm->tm_sec = take_number(cursor, 2);
		if (next_is(cursor, '.'))
			*fraction_ns = take_fraction_ns(cursor);
	}
}

bool clocks_utc_parse(const char *text, struct utc_time *time)
{
	struct cursor cursor = {text, true};
	struct tm tm = {0};
	int64_t fraction_ns = 0;
	int zone_s = 0;

	take_date(&cursor, &tm);
	if (next_is(&cursor, 'T')) {
		take_time_of_day(&cursor, &tm, &fraction_ns);
		zone_s = take_zone_s(&cursor);
	}
	if (!cursor.ok || *cursor.at != '\0')
		return false;
	if (tm.tm_year + 1900 < YEAR_MIN || tm.tm_year + 1900 > YEAR_MAX)
		return false;

	/* timegm() carries what is out of range into the next field (a day too many, into the
	 * month); a real time survives it. */
	struct tm normal = tm;
	time_t seconds = timegm(&normal);
	if (normal.tm_mon != tm.tm_mon || normal.tm_hour != tm.tm_hour ||
		normal.tm_min != tm.tm_min || normal.tm_sec != tm.tm_sec)
		return false;
	int64_t utc_s = (int64_t)seconds - zone_s;
	if (utc_s < 0 || utc_s >= UTC_S_END)
		return false;
	time->ns = utc_s * CLOCKS_NS_PER_S + fraction_ns;
	return true;
}

struct utc_time clocks_utc_months_later(struct utc_time time, int months)
{
	time_t moment = (time_t)(time.ns / CLOCKS_NS_PER_S);
	struct tm tm;

	gmtime_r(&moment, &tm);
	int day = tm.tm_mday;
	tm.tm_mon += months;
	struct tm later = tm;
	time_t seconds = timegm(&later);
	/* timegm() carried a day that there is not into the month after. */
	if (later.tm_mday != day) {
		later.tm_mday = 0;
		seconds = timegm(&later);
	}
	return (struct utc_time){(int64_t)seconds * CLOCKS_NS_PER_S + time.ns % CLOCKS_NS_PER_S};
}
