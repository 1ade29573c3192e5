/* SPDX-License-Identifier: MIT
 *
 * Specimens from a CSV file: every row is checked before any is written.
 */
#ifndef TOOLS_REGISTER_CSV_H
#define TOOLS_REGISTER_CSV_H

#include "registration.h"
#include "writing.h"

/* defaults: what holds where a cell is empty. Says every error with file, line and column. */
int register_csv(struct writing *writing, const struct registration *defaults, const char *path);

#endif
