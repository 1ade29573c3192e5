/* SPDX-License-Identifier: MIT
 *
 * What the specification makes of a set, for its report.
 */
#ifndef TOOLS_REPORT_ACCEPTANCE_H
#define TOOLS_REPORT_ACCEPTANCE_H

#include "report_content.h"

/* content: the runs of that set which the report is on; those alone make its test. Exit code; what
 * failed was said. */
int report_acceptance_find(const char *command, struct store *store, const char *set,
	const struct report_content *content, struct report_acceptance *acceptance);

#endif
