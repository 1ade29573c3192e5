/* SPDX-License-Identifier: MIT
 *
 * Names and their values for a person, a line each, broken between words before the terminal ends.
 */
#ifndef TOOLS_FIELDS_H
#define TOOLS_FIELDS_H

enum { FIELDS_NAME_WIDTH = 20 }; /* values stand below one another */

void fields_put(const char *name, const char *format, ...) __attribute__((format(printf, 2, 3)));

#endif
