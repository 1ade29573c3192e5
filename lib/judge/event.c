/* SPDX-License-Identifier: MIT
 *
 * Names of events.
 */
#include "judge/event.h"

#include <stddef.h>
#include <string.h>

static const char *const names[] = {
	[EVENT_STALL] = "stall",
	[EVENT_SHOCK] = "shock",
	[EVENT_DROP] = "drop",
	[EVENT_RECOVERY] = "recovery",
	[EVENT_LET_OFF] = "let_off",
	[EVENT_ALIGNMENT_CHECK] = "alignment_check",
	[EVENT_SPIKE] = "spike",
	[EVENT_STUCK] = "stuck",
	[EVENT_GAP] = "gap",
	[EVENT_ZERO_OFFSET] = "zero_offset",
	[EVENT_OVER_RANGE] = "over_range",
	[EVENT_BAND_LEFT] = "band_left",
	[EVENT_BAND_REGAINED] = "band_regained",
	[EVENT_ZERO_DRIFT] = "zero_drift",
	[EVENT_ECCENTRIC] = "eccentric",
	[EVENT_LATE] = "late",
	[EVENT_LOST] = "lost",
	[EVENT_REPEATED] = "repeated",
	[EVENT_SMALL_BLOCK] = "small_block",
};

const char *event_kind_text(enum event_kind kind)
{
	return names[kind];
}

bool event_kind_parse(const char *text, enum event_kind *kind)
{
	for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
		if (strcmp(names[i], text) == 0) {
			*kind = (enum event_kind)i;
			return true;
		}
	}
	return false;
}
