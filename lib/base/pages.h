/* SPDX-License-Identifier: MIT
 *
 * Memory of the system, by pages.
 */
#ifndef BASE_PAGES_H
#define BASE_PAGES_H

#include <stddef.h>

/* The memory stays the caller's, what it held is gone: the system may use its pages for others
 * until they are touched again. */
void pages_give_back(void *memory, size_t size);

/* Lets go of the pages of code and constants, the program's and its libraries': what is needed
 * again comes back by itself, what only the beginning needed does not. */
void pages_give_back_code(void);

#endif
