/* SPDX-License-Identifier: MIT
 *
 * Inside of the store: one step for each version of the tables, a file each. A step runs within a
 * transaction that schema.c begins and ends, on a database of the version before it; it only adds,
 * and what it has to rebuild it copies row by row. A step that was released never changes.
 */
#ifndef STORE_SCHEMA_STEPS_H
#define STORE_SCHEMA_STEPS_H

#include "store/sql.h"

/* A table that holds evidence, and what makes a new row collide with one that is there. */
struct schema_guard {
	const char *table;
	const char *collides; /* a condition on its rows and on NEW */
	bool sealed;          /* belongs to a run's sealed content */
};

/* Makes the triggers that refuse UPDATE, DELETE and REPLACE, and any row for a run that is sealed
 * where that counts. Every new table gets one. */
enum store_status schema_guard(struct store *store, const struct schema_guard *guard);

enum store_status schema_step_1(struct store *store);
enum store_status schema_step_2(struct store *store);
enum store_status schema_step_3(struct store *store);
enum store_status schema_step_4(struct store *store);
enum store_status schema_step_5(struct store *store);
enum store_status schema_step_6(struct store *store);
enum store_status schema_step_7(struct store *store);

#endif
