/* SPDX-License-Identifier: MIT
 *
 * A specimen as a JSON object, the form that docs/wire.md gives: one definition for the daemon and
 * for whoever talks to it.
 */
#ifndef WIRE_SPECIMEN_JSON_H
#define WIRE_SPECIMEN_JSON_H

#include "result/specimen.h"

#include <jansson.h>

/* A new reference, or NULL when memory is short. */
json_t *specimen_json(const struct specimen *specimen);

/* Reads types and ranges only; whether the specimen makes sense is specimen_check's to say. */
bool specimen_json_read(const json_t *object, struct specimen *specimen, struct message *why);

#endif
