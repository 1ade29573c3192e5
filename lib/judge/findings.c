/* SPDX-License-Identifier: MIT
 *
 * A bounded list, kept in order by insertion.
 */
#include "judge/findings.h"

#include <stdarg.h>
#include <stdio.h>

static bool is_reading_fault(enum event_kind kind)
{
	return kind == EVENT_SPIKE || kind == EVENT_GAP || kind == EVENT_STUCK ||
	       kind == EVENT_OVER_RANGE;
}

void findings_clear(struct findings *findings)
{
	findings->count = findings->total = findings->fault_count = 0;
}

/* A place for one more event of this kind; false if there is none left for it. */
static bool take_place(struct findings *findings, enum event_kind kind)
{
	findings->total++;
	bool fault = is_reading_fault(kind);
	if (findings->count == JUDGE_EVENTS_MAX ||
		(fault && findings->fault_count == JUDGE_EVENTS_MAX / 2))
		return false;
	findings->fault_count += fault;
	findings->count++;
	return true;
}

void findings_add(struct findings *findings, enum event_kind kind, int64_t time_ns,
	int64_t until_ns, int64_t load_un, const char *format, ...)
{
	if (!take_place(findings, kind))
		return;
	struct event *event = &findings->events[findings->count - 1];
	*event = (struct event){.kind = kind, .time = {time_ns}, .load_un = load_un};
	findings->until_ns[findings->count - 1] = until_ns;
	va_list arguments;
	va_start(arguments, format);
	vsnprintf(event->text, sizeof event->text, format, arguments);
	va_end(arguments);
}

void findings_copy(struct findings *findings, const struct findings *from, size_t index)
{
	if (!take_place(findings, from->events[index].kind))
		return;
	findings->events[findings->count - 1] = from->events[index];
	findings->until_ns[findings->count - 1] = from->until_ns[index];
}

void findings_sort(struct findings *findings)
{
	for (size_t i = 1; i < findings->count; i++) {
		struct event moved = findings->events[i];
		int64_t until_ns = findings->until_ns[i];
		size_t k = i;
		for (; k > 0 && findings->events[k - 1].time.ns > moved.time.ns; k--) {
			findings->events[k] = findings->events[k - 1];
			findings->until_ns[k] = findings->until_ns[k - 1];
		}
		findings->events[k] = moved;
		findings->until_ns[k] = until_ns;
	}
}
