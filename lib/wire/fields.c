/* SPDX-License-Identifier: MIT
 *
 * Strict reading of JSON attributes: a wrong type or a value out of range is an error with the
 * attribute's name in it, an unknown attribute is nobody's business.
 */
#include "wire/fields.h"

#include <math.h>
#include <string.h>

static void fail(struct fields *fields, const char *key, const char *what)
{
	if (!fields->failed)
		message_set(fields->why, "\"%s\" %s", key, what);
	fields->failed = true;
}

void fields_init(struct fields *fields, const json_t *object, const char *what, struct message *why)
{
	*fields = (struct fields){.object = object, .why = why};
	if (!json_is_object(object)) {
		message_set(why, "%s is not a JSON object", what);
		fields->failed = true;
	}
}

const json_t *fields_get(struct fields *fields, const char *key, enum fields_need need)
{
	const json_t *value = json_object_get(fields->object, key);

	if (value && !json_is_null(value))
		return value;
	if (need == FIELDS_REQUIRED)
		fail(fields, key, "is missing");
	return NULL;
}

void fields_text(
	struct fields *fields, const char *key, enum fields_need need, char *text, size_t size)
{
	const json_t *value = fields_get(fields, key, need);

	if (!value)
		return;
	if (!json_is_string(value)) {
		fail(fields, key, "is not a text");
		return;
	}
	size_t length = json_string_length(value);
	if (length >= size) {
		fail(fields, key, "is too long");
		return;
	}
	memcpy(text, json_string_value(value), length + 1);
}

void fields_integer(struct fields *fields, const char *key, enum fields_need need, int64_t low,
	int64_t high, int64_t *value)
{
	const json_t *found = fields_get(fields, key, need);

	if (!found)
		return;
	if (!json_is_integer(found))
		fail(fields, key, "is not a whole number");
	else if (json_integer_value(found) < low || json_integer_value(found) > high)
		fail(fields, key, "is out of range");
	else
		*value = json_integer_value(found);
}

void fields_number(struct fields *fields, const char *key, enum fields_need need, double low,
	double high, double *value)
{
	const json_t *found = fields_get(fields, key, need);

	if (!found)
		return;
	double number = json_number_value(found);
	if (!json_is_number(found))
		fail(fields, key, "is not a number");
	else if (!(number >= low && number <= high))
		fail(fields, key, "is out of range");
	else
		*value = number;
}

void fields_bool(struct fields *fields, const char *key, enum fields_need need, bool *value)
{
	const json_t *found = fields_get(fields, key, need);

	if (!found)
		return;
	if (!json_is_boolean(found))
		fail(fields, key, "is neither true nor false");
	else
		*value = json_is_true(found);
}

void fields_scaled(struct fields *fields, const char *key, enum fields_need need, double factor,
	double high, int64_t *value)
{
	double number = NAN;

	fields_number(fields, key, need, -high, high, &number);
	if (!isnan(number))
		*value = llround(number * factor);
}
