/* SPDX-License-Identifier: MIT
 *
 * The lower envelope of arrival less ticks, which is let up by the drift allowed.
 */
#include "measure/ticks.h"

void ticks_reset(struct ticks *ticks)
{
	*ticks = (struct ticks){.any = false};
}

static void begin(struct ticks *ticks, int64_t counter, struct mono_time arrival)
{
	*ticks = (struct ticks){true, counter, 0, (double)arrival.ns};
}

/* Ticks since the reading before; negative where the counter began anew. */
static int64_t ticks_since(
	const struct ticks *ticks, const struct pattern_counter *form, int64_t counter)
{
	int64_t passed = counter - ticks->last;
	/* Half a turn back is a turn forward, less than that a step back. */
	if (passed < 0 && form->wrap > 0 && -passed > form->wrap / 2)
		passed += form->wrap;
	return passed;
}

unsigned ticks_feed(struct ticks *ticks, const struct pattern_counter *form, int64_t counter,
	struct mono_time arrival, struct mono_time *time)
{
	if (!ticks->any) {
		begin(ticks, counter, arrival);
		return 0;
	}
	int64_t passed = ticks_since(ticks, form, counter), total = 0;
	if (passed == 0)
		return TICKS_REPEATED;
	if (passed < 0 || __builtin_add_overflow(ticks->total, passed, &total)) {
		begin(ticks, counter, arrival);
		return TICKS_LOST;
	}
	ticks->total = total;
	ticks->last = counter;
	unsigned marks = form->per_reading && passed > 1 ? TICKS_LOST : 0;
	if (form->tick_ns == 0)
		return marks;
	double latest_ns = (double)arrival.ns - (double)total * (double)form->tick_ns;
	double offset_ns = ticks->offset_ns + TICKS_DRIFT * (double)passed * (double)form->tick_ns;
	if (latest_ns - offset_ns > (double)TICKS_LATE_NS_MAX) {
		begin(ticks, counter, arrival);
		return TICKS_LOST;
	}
	ticks->offset_ns = latest_ns < offset_ns ? latest_ns : offset_ns;
	int64_t early_ns = (int64_t)(latest_ns - ticks->offset_ns);
	time->ns = arrival.ns - early_ns;
	return marks;
}
