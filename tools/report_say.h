/* SPDX-License-Identifier: MIT
 *
 * What is said of the runs of a report, each sentence once: where it is the same for several of
 * them, their names stand before it together.
 */
#ifndef TOOLS_REPORT_SAY_H
#define TOOLS_REPORT_SAY_H

#include "report_content.h"

struct report_sentence {
	bool alert;
	char *words;     /* owned */
	char *names;     /* owned */
	size_t of;       /* how many runs */
	const void *run; /* the last one: what is said of it twice is said once */
};

struct report_says {
	struct report_sentence *sentences; /* owned; begins as all 0 */
	size_t count, room;
	bool failed; /* memory was short */
};

void report_say(struct report_says *says, const struct report_run *run, bool alert,
	const char *format, ...) __attribute__((format(printf, 4, 5)));
/* All of them, in the order in which they were first said, many that are no alert as one paragraph;
 * of is how many runs there are. Empties it. */
void report_say_put(struct report_says *says, struct sheet *sheet, size_t of);

#endif
