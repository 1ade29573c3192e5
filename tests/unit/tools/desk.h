/* SPDX-License-Identifier: MIT
 *
 * What tests of specimens, lots and sets share: a run, files to register from, looking into the
 * database.
 */
#ifndef TESTS_UNIT_TOOLS_DESK_H
#define TESTS_UNIT_TOOLS_DESK_H

#include "store/store.h"

/* Run 1, of specimen A-1 of set-A. */
void desk_run(const char *database);
/* Registers the lines of a CSV file with further options; gives the exit code. */
int desk_register(const char *database, const char *text, const char *options);
/* A specimen that is registered; detail gets what else was measured. */
struct specimen desk_find(const char *database, const char *id, struct detail *detail);
/* No line is wider than a terminal. */
void desk_narrow(const char *text);

#endif
