/* SPDX-License-Identifier: MIT
 *
 * Files of the reference data named by RAMPLOG_REFERENCE; tests/README.md says what they are and
 * where they come from. None of them is part of this repository.
 */
#ifndef TESTS_REFERENCE_REFERENCE_H
#define TESTS_REFERENCE_REFERENCE_H

#include "judge/judge.h"
#include "measure/curve.h"

#include <stdbool.h>
#include <stddef.h>

enum { REFERENCE_SKIPPED = 77, REFERENCE_PATH_SIZE = 512 };

/* False, with a word about it, when there is no reference data: the test exits with
 * REFERENCE_SKIPPED. */
bool reference_is_there(void);
/* The path of a file in the folder, e.g. "nist/Norris.dat". */
void reference_path(const char *name, char path[REFERENCE_PATH_SIZE]);
/* The whole file, NUL-terminated; free() it. Fails the test when it cannot be read. */
char *reference_read(const char *name, size_t *length);
/* The numbers that follow the last "Data:" line of a NIST file, in order. Returns how many. */
size_t reference_numbers(const char *name, double *numbers, size_t max);
/* curves/NAME.csv; curve_finish it. */
void reference_curve(const char *name, struct curve *curve);

#endif
