/* SPDX-License-Identifier: MIT
 *
 * Real crushing tests as scenes: curves/c*.csv of the reference data, cubes of 150 mm and cylinders
 * of 99 by 299 mm, load controlled at 0.50 MPa/s (tests/README.md says where they come from). What
 * is true of them is what the press was set to.
 */
#ifndef TESTS_CORPUS_REAL_H
#define TESTS_CORPUS_REAL_H

#include "machine.h"

/* Reads one file of that data into the machine, as tested by EN 12390-3 with 0.50 MPa/s chosen and
 * its own maximum anticipated. False, with why, where it is no such file. */
bool real_load(struct machine *machine, const char *path, struct message *why);

#endif
