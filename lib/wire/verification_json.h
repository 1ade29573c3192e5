/* SPDX-License-Identifier: MIT
 *
 * A verification and a press's standing as JSON objects. Loads in newtons, errors in percent.
 */
#ifndef WIRE_VERIFICATION_JSON_H
#define WIRE_VERIFICATION_JSON_H

#include "result/verification.h"

#include <jansson.h>

/* New references, or NULL when memory is short. */
json_t *verification_json(const struct verification *verification);
/* Adds to an object what maximum_un means in that standing: "reportable", "not_reportable" (the
 * reason, or null) and "verification" (the standing; null: never kept). */
void verification_json_standing(
	json_t *object, const struct standing *standing, int64_t maximum_un);

/* What a client enters: everything but number, press, capacity and what is derived. */
bool verification_json_read(
	const json_t *object, struct verification *verification, struct message *why);

#endif
