/* SPDX-License-Identifier: MIT */
#include "stored.h"

#include "commands.h"
#include "wire/outcome_json.h"
#include "wire/specimen_json.h"

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

static void put_recorded(json_t *object, const struct actor *by, struct utc_time at)
{
	char text[CLOCKS_UTC_TEXT_SIZE];
	clocks_utc_text(at, text);
	json_object_set_new(object, "at", json_string(text));
	json_object_set_new(object, "by", json_string(by->name));
	json_object_set_new(object, "uid", json_integer(by->uid));
}

static bool take_fracture(void *context, const struct fracture_row *row)
{
	json_t *object = json_pack("{s:i, s:s}", "type", row->type, "note", row->note);
	put_recorded(object, &row->by, row->at);
	json_array_append_new(context, object);
	return true;
}

struct correcting {
	const struct run_record *record;
	json_t *list;
};

/* What came of a correction, without what it cannot change. */
static void put_outcome(
	json_t *object, const struct correction *correction, struct mono_time origin)
{
	json_t *outcome = outcome_json(&correction->outcome, origin);
	json_object_del(outcome, "events");
	json_object_del(outcome, "thrust");
	json_object_update(object, outcome);
	json_decref(outcome);
}

static bool take_correction(void *context, const struct correction *correction)
{
	const struct correcting *correcting = context;
	struct correction judged = *correction;
	json_t *object = json_pack("{s:I, s:s, s:s}", "correction", (json_int_t)correction->number,
		"kind", correction_kind_text(correction->kind), "reason", correction->reason);
	put_recorded(object, &correction->by, correction->at);
	if (correction->kind == CORRECTION_SPECIMEN) {
		json_object_set_new(object, "specimen", specimen_json(&correction->specimen));
		judged.outcome.method = correcting->record->start.judged_by;
		if (judged.outcome.method)
			put_outcome(object, &judged, correcting->record->start.origin);
	}
	json_array_append_new(correcting->list, object);
	return true;
}

enum store_status stored_entries(struct store *store, const struct run_record *record,
	json_t **fractures, json_t **corrections)
{
	struct correcting correcting = {record, json_array()};
	enum store_status status = STORE_OK;
	*fractures = json_array();
	*corrections = correcting.list;
	if (record->row.fracture)
		status = store_fractures_each(store, record->row.run, take_fracture, *fractures);
	if (status == STORE_OK && record->row.correction_count > 0)
		status = store_corrections_each(
			store, record->row.run, take_correction, &correcting);
	return status;
}

static json_t *text_or_null(bool given, const char *text)
{
	return given ? json_string(text) : json_null();
}

static void put_corrected(json_t *object, const struct run_row *row)
{
	json_object_set_new(object, "specimen_corrected",
		text_or_null(row->corrected, row->specimen_corrected));
	json_object_set_new(
		object, "set_corrected", text_or_null(row->corrected, row->set_corrected));
	json_object_set_new(object, "strength_corrected_mpa",
		row->corrected ? json_real(row->strength_corrected_pa / UNITS_PASCAL_PER_MPA)
			       : json_null());
	json_object_set_new(object, "strength_corrected_reported",
		text_or_null(row->corrected, row->strength_corrected));
	json_object_set_new(object, "verdict_corrected",
		text_or_null(row->corrected && row->verdict_corrected != VERDICT_NONE,
			verdict_text(row->verdict_corrected)));
}

enum store_status stored_run_json(
	struct store *store, const struct run_record *record, json_t **object)
{
	json_t *fractures, *corrections;
	*object = record->row.closed ? outcome_json(&record->outcome, record->start.origin)
				     : json_pack("{s:s}", "method", record->start.method);
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
	outcome_json_head(*object, &head);
	json_object_set_new(*object, "set", text_or_null(record->row.set[0], record->row.set));
	json_object_set_new(*object, "readings", json_integer(record->row.reading_count));
	json_object_set_new(*object, "voided", json_boolean(record->row.voided));
	put_corrected(*object, &record->row);
	enum store_status status = stored_entries(store, record, &fractures, &corrections);
	json_object_set_new(*object, "fractures", fractures);
	json_object_set_new(*object, "corrections", corrections);
	return status;
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
