/* SPDX-License-Identifier: MIT
 *
 * What the parts of `ramplog verification` share.
 */
#ifndef TOOLS_VERIFICATION_H
#define TOOLS_VERIFICATION_H

#include "result/verification.h"
#include "writing.h"

/* A load as a person types it: a number, and a unit unless it is kN. False: it is none. */
bool verification_parse_load(const char *typed, int64_t *load_un);

/* Leads a person through the forces of a verification and fills in the request with what was read;
 * reference, certificate and increment are there. Gives an exit code; EXIT_DONE: it may be stored.
 */
int verification_take(struct writing *writing);

/* The forces with their errors, as a table. */
void verification_print(const struct verification *verification);

#endif
