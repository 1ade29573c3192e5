/* SPDX-License-Identifier: MIT
 *
 * An issued report on the control socket: the client made the file, the daemon puts it on record.
 */
#ifndef WIRE_ISSUED_JSON_H
#define WIRE_ISSUED_JSON_H

#include "base/message.h"
#include "result/issued.h"

#include <jansson.h>

/* A new reference. */
json_t *issued_json(const struct issued *issued);
/* False: why says what is wrong. */
bool issued_json_read(const json_t *object, struct issued *issued, struct message *why);

#endif
