/* SPDX-License-Identifier: MIT
 *
 * The bearing blocks between which a specimen stands: whether their faces are wide enough for it.
 */
#ifndef RESULT_BEARING_H
#define RESULT_BEARING_H

#include "base/message.h"
#include "result/specimen.h"

struct bearing {
	int64_t width_um; /* diameter, or side, of the smaller face; 0: not stated */
	bool square;
};

/* The smallest face of that form for this specimen: 3 % wider than it (ASTM C39 6.2, from memory);
 * a cube's diagonal counts on a round face. */
int64_t bearing_least_um(const struct bearing *bearing, const struct specimen *specimen);
/* False: the face is too small; why says by how much. True where the face is not stated. */
bool bearing_fits(
	const struct bearing *bearing, const struct specimen *specimen, struct message *why);

#endif
