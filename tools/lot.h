/* SPDX-License-Identifier: MIT
 *
 * Reduced measuring over the register: the specimens of one lot of moulds that were registered
 * today, of which the measured ones may stand for all.
 */
#ifndef TOOLS_LOT_H
#define TOOLS_LOT_H

#include "registration.h"
#include "writing.h"

enum { LOT_MAX = 500 }; /* specimens of a lot in a day */

struct lot_member {
	struct specimen specimen;
	struct detail detail;
	int64_t measured_um; /* mean width as measured on it; 0: it was not */
};

struct lot {
	struct lot_member *members; /* owned */
	size_t count;
	bool too_many;
};

/* Those of the registration's lot and method, without itself. False: why. lot_finish in every
 * case. */
bool lot_load(const char *database, const struct registration *like, struct lot *lot,
	struct message *why);
void lot_finish(struct lot *lot);

/* Whether one of them stands there with the mean of the others. */
bool lot_is_reduced(const struct lot *lot);

/* Adds the measured ones' widths to those (room for LOT_MAX more). */
void lot_add_measured(const struct lot *lot, int64_t *widths_um, size_t *count);

/* The mean counts for all of the lot: it is entered as a correction of those for which it does not
 * count yet. Exit code. */
int lot_use_mean(struct writing *writing, const struct lot *lot, int64_t mean_um);

/* The mean counts for this one; what was measured on it stays beside. */
void lot_set_mean(struct registration *registration, int64_t mean_um);

#endif
