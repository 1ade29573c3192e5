/* SPDX-License-Identifier: MIT
 *
 * Inside of the report: its parts, one file each.
 */
#ifndef TOOLS_REPORT_PARTS_H
#define TOOLS_REPORT_PARTS_H

#include "report_content.h"

void report_put_results(struct sheet *sheet, const struct report_content *content);
/* The specification, among what identifies the report. */
void report_put_specification(struct sheet *sheet, const struct report_content *content);
/* What of it was met and what was not. */
void report_put_acceptance(struct sheet *sheet, const struct report_content *content);
void report_put_findings(struct sheet *sheet, const struct report_content *content);
void report_put_rule(struct sheet *sheet, const struct report_content *content);
void report_put_proof(struct sheet *sheet, const struct report_content *content);

#endif
