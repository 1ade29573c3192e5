/* SPDX-License-Identifier: MIT
 *
 * Inside of the report: its parts, one file each, and what they ask of a run.
 */
#ifndef TOOLS_REPORT_PARTS_H
#define TOOLS_REPORT_PARTS_H

#include "report_sheet.h"
#include "set_tests.h"

#include "result/companions.h"

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

void report_put_results(struct sheet *sheet, const struct report_content *content);
/* The specification, among what identifies the report. */
void report_put_specification(struct sheet *sheet, const struct report_content *content);
/* What of it was met and what was not. */
void report_put_acceptance(struct sheet *sheet, const struct report_content *content);
void report_put_findings(struct sheet *sheet, const struct report_content *content);
void report_put_rule(struct sheet *sheet, const struct report_content *content);
void report_put_proof(struct sheet *sheet, const struct report_content *content);

#endif
