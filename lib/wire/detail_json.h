/* SPDX-License-Identifier: MIT
 *
 * What was measured of a specimen beside its dimensions, and a set's terms, as they stand on the
 * control socket; see docs/wire.md.
 */
#ifndef WIRE_DETAIL_JSON_H
#define WIRE_DETAIL_JSON_H

#include "base/message.h"
#include "result/detail.h"
#include "result/set_terms.h"

#include <jansson.h>

/* A new reference; what is not stated is left out. */
json_t *detail_json(const struct detail *detail);
/* False: why says what is wrong. */
bool detail_json_read(const json_t *object, struct detail *detail, struct message *why);

json_t *set_terms_json(const struct set_terms *terms);
bool set_terms_json_read(const json_t *object, struct set_terms *terms, struct message *why);

/* A list of sentences; a new reference. */
json_t *detail_flags_json(const struct detail_flags *flags);

#endif
