/* SPDX-License-Identifier: MIT */
#include "stored.h"

#include "commands.h"
#include "wire/outcome_json.h"

#include <inttypes.h>
#include <stdio.h>

int stored_open(const char *command, const char *path, struct store **store)
{
	struct message why;
	if (store_open(store, path, STORE_READ, &why) == STORE_OK)
		return EXIT_DONE;
	fprintf(stderr, "%s: %s\n", command, why.text);
	return EXIT_CANNOT;
}

int stored_failed(const char *command, const struct store *store, enum store_status status)
{
	fprintf(stderr, "%s: %s: %s\n", command, store_status_text(status), store_error(store));
	return EXIT_CANNOT;
}

int stored_run(const char *command, struct store *store, int64_t run, struct run_record *record)
{
	enum store_status status = store_run_load(store, run, record);
	if (status == STORE_OK)
		return EXIT_DONE;
	if (status != STORE_NONE)
		return stored_failed(command, store, status);
	fprintf(stderr,
		"%s: there is no run %" PRId64 "; `ramplog runs` lists those that there are\n",
		command, run);
	return EXIT_NO;
}

json_t *stored_run_json(const struct run_record *record)
{
	json_t *object = record->row.closed ? outcome_json(&record->outcome, record->start.origin)
					    : json_pack("{s:s}", "method", record->start.method);
	if (!object)
		return NULL;
	struct outcome_head head = {
		.run = record->row.run,
		.press = record->row.press,
		.specimen = record->row.specimen,
		.started = record->row.started,
		.fracture = record->row.fracture,
		.samples = record->row.closed ? record->row.sample_count : -1,
		.standing = &record->start.standing,
		.maximum_un = record->row.closed ? record->row.maximum_un : 0,
	};
	outcome_json_head(object, &head);
	json_object_set_new(object, "readings", json_integer(record->row.reading_count));
	json_object_set_new(object, "voided", json_boolean(record->row.voided));
	json_object_set_new(object, "strength_corrected_mpa",
		record->row.corrected
			? json_real(record->row.strength_corrected_pa / UNITS_PASCAL_PER_MPA)
			: json_null());
	return object;
}

int stored_put_json(const char *command, json_t *value)
{
	int failed = value ? json_dumpf(value, stdout, OUTCOME_JSON_FLAGS | JSON_INDENT(2)) : -1;
	json_decref(value);
	if (failed) {
		fprintf(stderr, "%s: the JSON could not be written\n", command);
		return EXIT_CANNOT;
	}
	putchar('\n');
	return EXIT_DONE;
}
