/* SPDX-License-Identifier: MIT
 *
 * A case for a third party: runs with everything that is needed to check them without this program,
 * in a folder with checksums.
 */
#ifndef TOOLS_EXPORT_CASE_H
#define TOOLS_EXPORT_CASE_H

#include "store/store.h"

/* The folder must not be there yet; it appears whole or not at all. Runs that are not over are
 * refused: they have no seal. Exit code; what stood in the way has been said. */
int export_case(const char *command, const char *database, struct store *store, const int64_t *runs,
	size_t count, const char *folder);

#endif
