/* SPDX-License-Identifier: MIT
 *
 * Typical runs for the documents, always the same.
 */
#ifndef TESTS_CORPUS_EXAMPLES_H
#define TESTS_CORPUS_EXAMPLES_H

#include "kinds.h"

/* Draws the example of this name, "hunting"; false: there is none. */
bool examples_draw(struct scene *scene, const char *name);

#endif
