/* SPDX-License-Identifier: MIT
 *
 * What is due as an iCalendar object (RFC 5545) that any calendar can subscribe to: one event a
 * specimen, from the first to the last moment at which the method lets it be tested.
 */
#ifndef RESULT_CALENDAR_H
#define RESULT_CALENDAR_H

#include "base/text.h"
#include "result/age.h"

void calendar_begin(struct text *text);
/* stamp: when this is written. Needs at most CALENDAR_EVENT_SIZE bytes. */
void calendar_event(struct text *text, const struct specimen *specimen, int64_t intended_age_ns,
	struct utc_time stamp);
void calendar_end(struct text *text);

enum { CALENDAR_EVENT_SIZE = 4096 };

#endif
