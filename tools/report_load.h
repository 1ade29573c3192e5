/* SPDX-License-Identifier: MIT
 *
 * The runs of a report, with all that is on record of each. Functions that fail have said so and
 * give the exit code.
 */
#ifndef TOOLS_REPORT_LOAD_H
#define TOOLS_REPORT_LOAD_H

#include "report_content.h"

enum { REPORT_SUBJECT_SIZE = STORE_NAME_SIZE + 16 };

struct report_runs {
	char subject[REPORT_SUBJECT_SIZE]; /* "set quay-7", "run 12" */
	bool is_set;
	char set[STORE_NAME_SIZE]; /* of a set: its name */
	struct report_run *runs;   /* owned */
	size_t count;
	struct report_acceptance acceptance; /* of a set */
};

/* typed: a set, or a run by its number; as_set: a set whatever it looks like. only: the runs that
 * an issued report was on; NULL: all that there are. report_runs_finish in every case. */
int report_runs_load(const char *command, struct store *store, const char *typed, bool as_set,
	const struct issued *only, struct report_runs *loaded);
void report_runs_finish(struct report_runs *loaded);

#endif
