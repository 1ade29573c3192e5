/* SPDX-License-Identifier: MIT
 *
 * Reads attributes out of a JSON object that somebody else wrote, with a sticky error: read all of
 * them, test once at the end. Internal to lib/wire.
 */
#ifndef WIRE_FIELDS_H
#define WIRE_FIELDS_H

#include "base/message.h"

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct fields {
	const json_t *object;
	struct message *why; /* the first error; may be NULL */
	bool failed;
};

enum fields_need {
	FIELDS_OPTIONAL, /* absent or null: the target keeps what it holds */
	FIELDS_REQUIRED,
};

/* An object that is no object is an error at once; what names it in the message. */
void fields_init(
	struct fields *fields, const json_t *object, const char *what, struct message *why);
/* The text must fit in size bytes with its NUL. (jansson lets no NUL into a text.) */
void fields_text(
	struct fields *fields, const char *key, enum fields_need need, char *text, size_t size);
void fields_integer(struct fields *fields, const char *key, enum fields_need need, int64_t low,
	int64_t high, int64_t *value);
/* Any finite number within low .. high. */
void fields_number(struct fields *fields, const char *key, enum fields_need need, double low,
	double high, double *value);
void fields_bool(struct fields *fields, const char *key, enum fields_need need, bool *value);
/* Borrowed; NULL where it is absent or null. */
const json_t *fields_get(struct fields *fields, const char *key, enum fields_need need);
/* A number in a larger unit (kN, mm) as an integer of the smaller one, rounded to the nearest. */
void fields_scaled(struct fields *fields, const char *key, enum fields_need need, double factor,
	double high, int64_t *value);

#endif
