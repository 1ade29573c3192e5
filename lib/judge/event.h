/* SPDX-License-Identifier: MIT
 *
 * Something that happened in a run and belongs on its record.
 */
#ifndef JUDGE_EVENT_H
#define JUDGE_EVENT_H

#include "base/clocks.h"

#include <stdbool.h>
#include <stdint.h>

enum event_kind {
	EVENT_STALL,           /* the load stood still in the rising part */
	EVENT_SHOCK,           /* a step up that no ramp explains */
	EVENT_DROP,            /* the load fell suddenly and the run went on */
	EVENT_RECOVERY,        /* after a drop the load climbed past its old maximum */
	EVENT_LET_OFF,         /* the load was taken back and put on again */
	EVENT_ALIGNMENT_CHECK, /* a small load, put on and taken off before the test */
	EVENT_SPIKE,           /* readings that their neighbours deny */
	EVENT_STUCK,           /* the same reading again and again while the load went on */
	EVENT_GAP,             /* no readings for a while */
	EVENT_ZERO_OFFSET,     /* the unloaded press did not read zero */
	EVENT_OVER_RANGE,      /* beyond the cell's or the press's capacity */
	EVENT_BAND_LEFT,       /* the stress rate left the band within the judged span */
	EVENT_BAND_REGAINED,   /* and came back */
	EVENT_ZERO_DRIFT,      /* the unloaded press reads another zero than before the last run */
	EVENT_ECCENTRIC,       /* the load acts too far from the centre of the press */
	EVENT_LATE,            /* readings were held up: their times are not known */
	EVENT_LOST,            /* a cell counted readings that never came */
	EVENT_REPEATED,        /* a cell sent a reading twice */
	EVENT_SMALL_BLOCK,     /* a bearing block is too small for the specimen */
};

enum { EVENT_TEXT_SIZE = 160 };

struct event {
	enum event_kind kind;
	struct mono_time time;
	int64_t load_un; /* the press's load at that time */
	char text[EVENT_TEXT_SIZE];
};

/* "stall" and so on, as stored and printed. Static. */
const char *event_kind_text(enum event_kind kind);
bool event_kind_parse(const char *text, enum event_kind *kind);

#endif
