/* SPDX-License-Identifier: MIT
 *
 * The list of events of one run while it is being judged. Fixed memory: of the events beyond
 * JUDGE_EVENTS_MAX only the number is kept, and faults of the readings (spikes, gaps) may fill at
 * most half of the list, so that a bad cable cannot crowd out what the press did; readings that
 * came late, of which a busy machine makes many, may be held to less, so that a gap still finds a
 * place.
 */
#ifndef JUDGE_FINDINGS_H
#define JUDGE_FINDINGS_H

#include "judge/judge.h"

/* Every event has what the record needs and no more; until_ns and size_un serve the judging. */
struct findings {
	size_t count; /* in the list */
	size_t total; /* found */
	size_t fault_count;
	size_t late_count, late_max; /* of the faults; late_max 0: as many as of any */
	struct event events[JUDGE_EVENTS_MAX];
	int64_t until_ns[JUDGE_EVENTS_MAX]; /* end; the event's time is its beginning */
	int64_t size_un[JUDGE_EVENTS_MAX];  /* how far a denied reading was off; else 0 */
};

/* Forgets all. */
void findings_clear(struct findings *findings);

/* Adds an event with its text (printf form), of size 0. */
void findings_add(struct findings *findings, enum event_kind kind, int64_t time_ns,
	int64_t until_ns, int64_t load_un, const char *format, ...)
	__attribute__((format(printf, 6, 7)));
/* The size of the event added last, if it found a place. */
void findings_size(struct findings *findings, int64_t time_ns, int64_t size_un);
/* Adds what another list holds at this index, as it is. */
void findings_copy(struct findings *findings, const struct findings *from, size_t index);
/* By time; events of one time stay in the order in which they were found. */
void findings_sort(struct findings *findings);

#endif
