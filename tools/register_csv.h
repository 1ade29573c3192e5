/* SPDX-License-Identifier: MIT
 *
 * Specimens from a CSV file: every row is checked before any is written.
 */
#ifndef TOOLS_REGISTER_CSV_H
#define TOOLS_REGISTER_CSV_H

#include "registration.h"
#include "writing.h"

/* Registers one, or corrects it where the request says so; prints what became of it, and flags on
 * stderr. Exit code. */
int register_write(struct writing *writing, const struct registration *registration);

/* defaults: what holds where a cell is empty. Says every error with file, line and column. */
int register_csv(struct writing *writing, const struct registration *defaults, const char *path);

#endif
