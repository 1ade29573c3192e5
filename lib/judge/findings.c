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
	       kind == EVENT_OVER_RANGE || kind == EVENT_LATE || kind == EVENT_LOST ||
	       kind == EVENT_REPEATED;
}

void findings_clear(struct findings *findings)
{
	findings->count = findings->total = findings->fault_count = 0;
	findings->late_count = findings->late_max = 0;
}

/* A place for one more event of this kind; false if there is none left for it. */
static bool take_place(struct findings *findings, enum event_kind kind)
{
	findings->total++;
	bool fault = is_reading_fault(kind), late = kind == EVENT_LATE;
	if (findings->count == JUDGE_EVENTS_MAX ||
		(fault && findings->fault_count == JUDGE_EVENTS_MAX / 2) ||
		(late && findings->late_max && findings->late_count == findings->late_max))
		return false;
	findings->fault_count += fault;
	findings->late_count += late;
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
	findings->size_un[findings->count - 1] = 0;
	va_list arguments;
	va_start(arguments, format);
	vsnprintf(event->text, sizeof event->text, format, arguments);
	va_end(arguments);
}

void findings_size(struct findings *findings, int64_t time_ns, int64_t size_un)
{
	if (findings->count > 0 && findings->events[findings->count - 1].time.ns == time_ns)
		findings->size_un[findings->count - 1] = size_un;
}

void findings_copy(struct findings *findings, const struct findings *from, size_t index)
{
	if (!take_place(findings, from->events[index].kind))
		return;
	findings->events[findings->count - 1] = from->events[index];
	findings->until_ns[findings->count - 1] = from->until_ns[index];
	findings->size_un[findings->count - 1] = from->size_un[index];
}

void findings_sort(struct findings *findings)
{
	struct findings *f = findings;
	for (size_t i = 1; i < f->count; i++) {
		struct event moved = f->events[i];
		int64_t until_ns = f->until_ns[i], size_un = f->size_un[i];
		size_t k = i;
		for (; k > 0 && f->events[k - 1].time.ns > moved.time.ns; k--) {
			f->events[k] = f->events[k - 1];
			f->until_ns[k] = f->until_ns[k - 1];
			f->size_un[k] = f->size_un[k - 1];
		}
		f->events[k] = moved;
		f->until_ns[k] = until_ns;
		f->size_un[k] = size_un;
	}
}
