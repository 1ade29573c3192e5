/* SPDX-License-Identifier: MIT
 *
 * What a report is made of: its runs as stored and derived again, what a person adds, and what its
 * parts ask of them.
 */
#ifndef TOOLS_REPORT_CONTENT_H
#define TOOLS_REPORT_CONTENT_H

#include "draw/run_picture.h"
#include "draw/sheet.h"
#include "result/companions.h"
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

enum { REPORT_LINE_SIZE = 640 };

/* The first run's: a report is of one method. NULL: its text could not be read. */
const struct method *report_method(const struct report_content *content);
bool report_inch_pound(const struct report_content *content);
const char *report_specimen(const struct report_run *run);
/* Which worth the method gives the fracture entered; false: none, or none is entered. */
bool report_fracture_is(const struct report_run *run, enum method_fracture_worth worth);
/* As far as the press's verification is concerned; false: why. */
bool report_reportable(const struct report_run *run, struct message *why);
bool report_confirmed(const struct report_content *content);
struct age report_age(const struct report_run *run);
/* The companions that count. False: memory is short. */
bool report_companions(const struct report_content *content, struct companions *companions);
int64_t report_width_um(const struct specimen *specimen); /* mean */

/* A heading with the clause of that topic, where the method's file is sure of it and the laboratory
 * confirmed it. */
void report_heading(struct sheet *sheet, const struct report_content *content, const char *words,
	const char *topic);

#endif
