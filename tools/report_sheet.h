/* SPDX-License-Identifier: MIT
 *
 * What a report says: from stored runs to a sheet. Words and numbers only; what the sheet looks
 * like is lib/draw's. docs/report.md tells what is on the page and why.
 */
#ifndef TOOLS_REPORT_SHEET_H
#define TOOLS_REPORT_SHEET_H

#include "report_content.h"

/* NULL when memory is short. The runs must outlive the sheet. */
struct sheet *report_sheet(const struct report_content *content);

#endif
