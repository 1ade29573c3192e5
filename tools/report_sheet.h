/* SPDX-License-Identifier: MIT
 *
 * What a report says: from stored runs to a sheet. Words and numbers only; what the sheet looks
 * like is lib/draw's.
 */
#ifndef TOOLS_REPORT_SHEET_H
#define TOOLS_REPORT_SHEET_H

#include "draw/run_picture.h"
#include "draw/sheet.h"
#include "store/replay.h"
#include "store/store.h"

/* One run of the report, with what its picture points to; stays where it was made. */
struct report_run {
	struct run_record record;     /* with specimen and outcome as corrected last */
	struct run_seal seal;         /* of a closed run */
	struct correction correction; /* the last one of the specimen; number 0: none */
	struct correction voided;     /* number 0: the run counts */
	bool confirmed;               /* the method, by the laboratory: */
	struct method_confirmation confirmation;
	bool elsewhere; /* corrected: its specimen is of another set than asked for */
	struct replay replay;
	struct run_curve curve;
	struct run_picture picture;
};

/* What a person adds to what is stored; NULL: not said. */
struct report_words {
	const char *laboratory, *customer, *reviewer;
	const char *issued;            /* ISO 8601; NULL: a draft */
	const char *replaces, *reason; /* an amended report: which one, and why */
};

struct report_content {
	const char *subject;           /* "set NP-F2-24h" */
	const struct report_run *runs; /* at least one, by number */
	size_t count;
	const struct report_words *words;
};

/* NULL when memory is short. The runs must outlive the sheet. */
struct sheet *report_sheet(const struct report_content *content);

#endif
