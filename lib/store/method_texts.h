/* SPDX-License-Identifier: MIT
 *
 * Inside of the store: the texts of the methods by which runs are judged, so that a run is derived
 * again with the method of its day.
 */
#ifndef STORE_METHOD_TEXTS_H
#define STORE_METHOD_TEXTS_H

#include "result/methods.h"
#include "store/sql.h"

/* Keeps the method's text with the run. */
enum store_status method_texts_add(
	struct store *store, int64_t run, const struct method *method, struct utc_time now);
/* NULL where the text cannot be read, or none was kept and none of that name is built in. */
enum store_status method_texts_load(
	struct store *store, int64_t run, const char *name, const struct method **method);

#endif
