/* SPDX-License-Identifier: MIT */
#include "wire/issued_json.h"

#include "wire/fields.h"

#include <string.h>

/* The attributes that are texts; a required one is not empty either. */
static const struct {
	const char *key;
	enum fields_need need;
	size_t offset, size;
} TEXTS[] = {
#define TEXT(need, name) \
	{ \
#name, need, offsetof(struct issued, name), sizeof((struct issued *)0)->name \
	}
	TEXT(FIELDS_REQUIRED, subject),
	TEXT(FIELDS_OPTIONAL, laboratory),
	TEXT(FIELDS_OPTIONAL, customer),
	TEXT(FIELDS_OPTIONAL, reviewer),
	TEXT(FIELDS_OPTIONAL, reason),
	TEXT(FIELDS_REQUIRED, format),
	TEXT(FIELDS_REQUIRED, hash),
#undef TEXT
};

enum { TEXT_COUNT = sizeof TEXTS / sizeof TEXTS[0] };

json_t *issued_json(const struct issued *issued)
{
	char at[CLOCKS_UTC_TEXT_SIZE];
	json_t *object = json_object(), *runs = json_array();

	clocks_utc_text(issued->at, at);
	json_object_set_new(object, "number", json_integer(issued->number));
	json_object_set_new(object, "set", json_boolean(issued->is_set));
	for (size_t i = 0; i < TEXT_COUNT; i++) {
		const char *text = (const char *)issued + TEXTS[i].offset;
		if (text[0])
			json_object_set_new(object, TEXTS[i].key, json_string(text));
	}
	json_object_set_new(object, "at", json_string(at));
	json_object_set_new(object, "field", json_boolean(issued->field));
	if (issued->replaces)
		json_object_set_new(object, "replaces", json_integer(issued->replaces));
	for (size_t i = 0; i < issued->run_count; i++)
		json_array_append_new(runs, json_integer(issued->runs[i]));
	json_object_set_new(object, "runs", runs);
	return object;
}

static void read_runs(struct fields *fields, struct issued *issued)
{
	const json_t *runs = fields_get(fields, "runs", FIELDS_REQUIRED);
	size_t count = json_array_size(runs);

	if (fields->failed)
		return;
	if (count < 1 || count > ISSUED_RUNS_MAX) {
		fields->failed = !message_set(fields->why,
			"\"runs\" has %zu entries: a list of 1 to %d is meant", count,
			ISSUED_RUNS_MAX);
		return;
	}
	for (size_t i = 0; i < count && !fields->failed; i++) {
		issued->runs[i] = json_integer_value(json_array_get(runs, i));
		if (issued->runs[i] < 1)
			fields->failed = !message_set(
				fields->why, "entry %zu of \"runs\" is no number of a run", i);
	}
	issued->run_count = count;
}

static void check(struct fields *fields, struct issued *issued, const char *at)
{
	size_t digits = strspn(issued->hash, "0123456789abcdef");

	if (fields->failed)
		return;
	if (!clocks_utc_parse(at, &issued->at))
		fields->failed =
			!message_set(fields->why, "\"at\" is \"%s\": ISO 8601 is meant", at);
	else if (digits != ISSUED_HASH_SIZE - 1)
		fields->failed = !message_set(fields->why, "\"hash\" is not 64 hexadecimal digits");
	else if (!issued->subject[0])
		fields->failed = !message_set(fields->why, "\"subject\" is empty");
	else if ((issued->replaces > 0) != (issued->reason[0] != '\0'))
		fields->failed = !message_set(
			fields->why, "\"replaces\" and \"reason\" go together: say both or none");
}

bool issued_json_read(const json_t *object, struct issued *issued, struct message *why)
{
	char at[CLOCKS_UTC_TEXT_SIZE] = "";
	struct fields fields;

	*issued = (struct issued){.number = 0};
	fields_init(&fields, object, "\"report\"", why);
	if (fields.failed)
		return false;
	fields_integer(&fields, "number", FIELDS_REQUIRED, 1, INT64_MAX, &issued->number);
	fields_bool(&fields, "set", FIELDS_REQUIRED, &issued->is_set);
	for (size_t i = 0; i < TEXT_COUNT; i++)
		fields_text(&fields, TEXTS[i].key, TEXTS[i].need, (char *)issued + TEXTS[i].offset,
			TEXTS[i].size);
	fields_text(&fields, "at", FIELDS_REQUIRED, at, sizeof at);
	fields_bool(&fields, "field", FIELDS_OPTIONAL, &issued->field);
	fields_integer(&fields, "replaces", FIELDS_OPTIONAL, 1, INT64_MAX, &issued->replaces);
	read_runs(&fields, issued);
	check(&fields, issued, at);
	return !fields.failed;
}
