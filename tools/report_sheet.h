/* SPDX-License-Identifier: MIT
 *
 * What a report says: from stored runs to a sheet. Words and numbers only; what the sheet looks
 * like is lib/draw's. docs/report.md tells what is on the page and why.
 */
#ifndef TOOLS_REPORT_SHEET_H
#define TOOLS_REPORT_SHEET_H

#include "draw/run_picture.h"
#include "draw/sheet.h"
#include "result/set_terms.h"
#include "store/replay.h"
#include "store/store.h"

/* One run of the report, with what its picture points to; stays where it was made. */
struct report_run {
	struct run_record record;     /* with specimen and outcome as corrected last */
	struct run_seal seal;         /* of a closed run */
	struct correction correction; /* the last one of the specimen; number 0: none */
	struct correction voided;     /* number 0: the run counts */
	const char *without;          /* why it does not count; NULL: it does */
	double formula_pa; /* strength by the formula, before the fracture's part in it */
	bool had_specimen; /* as it was before any correction: */
	struct specimen first_specimen;
	struct outcome first_outcome;
	struct fracture_row first_fracture; /* type 0: none, or it was never entered again */
	bool confirmed;                     /* the method, by the laboratory: */
	struct method_confirmation confirmation;
	struct detail detail;
	char certificate[VERIFICATION_TEXT_SIZE]; /* of the verification in force; "" none */
	struct replay replay;
	struct run_curve curve;
	struct run_picture picture;
};

/* What a person adds to what is stored; NULL: not said. */
struct report_words {
	const char *laboratory, *customer, *reviewer;
	bool field;     /* the specimens were made under field conditions */
	int64_t number; /* 0: a draft, and the following is not said */
	struct utc_time issued;
	const char *issued_by;
	int64_t replaces;   /* an amended report: which one; 0: none */
	const char *reason; /* and why */
};

/* What the specification makes of a set's test, as the terms entered name it. */
struct report_acceptance {
	bool has_terms;
	struct set_terms terms;
	const char *few; /* why the rule would not call this a test; NULL: it would */
	bool has_test;   /* the companions have a mean: */
	struct acceptance_at at;
	bool unlike; /* other sets of its series have other terms: the mean is not judged */
};

struct report_content {
	const char *subject;           /* "set NP-F2-24h" */
	const struct report_run *runs; /* at least one, by number */
	size_t count;
	const struct report_words *words;
	const struct report_acceptance *acceptance; /* NULL: of a run, which is no test */
};

/* NULL when memory is short. The runs must outlive the sheet. */
struct sheet *report_sheet(const struct report_content *content);

#endif
