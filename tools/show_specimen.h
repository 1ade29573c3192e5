/* SPDX-License-Identifier: MIT
 *
 * Inside of `ramplog show`: the specimen with all that was measured and seen of it.
 */
#ifndef TOOLS_SHOW_SPECIMEN_H
#define TOOLS_SHOW_SPECIMEN_H

#include "store/store.h"

/* "100.250 and 100.500 mm", and so on: those of a specimen that may be a corrected one. */
void show_put_lengths(const struct specimen *specimen, bool inch_pound);
/* Before the test. */
enum store_status show_put_specimen(
	const struct run_record *record, struct store *store, bool inch_pound);
/* After it: every entry, the last one holds. */
enum store_status show_put_fractures(const struct run_record *record, struct store *store);

#endif
