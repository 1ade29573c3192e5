/* SPDX-License-Identifier: MIT
 *
 * What the types of fracture look like, for a terminal: one family for cylinders and cores, one for
 * cubes and for methods that tell good from bad only, one for beams, one for what is split.
 */
#ifndef TOOLS_SKETCHES_H
#define TOOLS_SKETCHES_H

#include "result/method.h"

enum { SKETCHES_ROWS = 7 };

/* The sketch's lines, SKETCHES_ROWS of them; NULL: there is none. method NULL: of ASTM C39. */
const char *const *sketches_of(const struct method *method, int type);

/* All of them with the methods that they are for; the caller's to free. NULL: memory is short. */
char *sketches_help(void);

#endif
