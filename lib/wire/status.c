/* SPDX-License-Identifier: MIT
 *
 * Presses and cells as JSON. Asked for by hand or once per change of state, so built with jansson.
 */
#include "wire/status.h"

#include "base/units.h"
#include "wire/fields.h"
#include "wire/specimen_json.h"
#include "wire/verification_json.h"

#include <stdio.h>
#include <string.h>

const char *status_cell_text(enum cell_state state)
{
	switch (state) {
	case CELL_READY:
		return "ready";
	case CELL_SILENT:
		return "silent";
	case CELL_ABSENT:
		return "absent";
	}
	return "";
}

bool status_phase_parse(const char *text, enum phase *phase)
{
	for (int i = PHASE_IDLE; i <= PHASE_RELEASED; i++) {
		if (strcmp(phase_text((enum phase)i), text) != 0)
			continue;
		*phase = (enum phase)i;
		return true;
	}
	return false;
}

json_t *status_cell_json(const struct status_cell *cell)
{
	json_t *object = json_pack("{s:s, s:s, s:s, s:I, s:I}", "cell", cell->name, "device",
		cell->device, "state", status_cell_text(cell->state), "readings",
		(json_int_t)cell->reading_count, "errors", (json_int_t)cell->error_count);

	if (object && cell->text[0])
		json_object_set_new(object, "text", json_string(cell->text));
	return object;
}

json_t *status_press_json(const struct status_press *press)
{
	json_t *object = json_pack("{s:s, s:s, s:f, s:s}", "press", press->name, "method",
		press->method, "capacity_n", (double)press->capacity_un / (double)UNITS_UN_PER_N,
		"phase", phase_text(press->phase));
	json_t *cells = json_array();

	if (press->has_seated)
		json_object_set_new(object, "seated", specimen_json(&press->seated));
	if (press->run)
		json_object_set_new(object, "run", json_integer(press->run));
	for (size_t i = 0; i < press->cell_count; i++)
		json_array_append_new(cells, status_cell_json(&press->cells[i]));
	json_object_set_new(object, "cells", cells);
	verification_json_standing(object, &press->standing, 0);
	json_object_set_new(object, "notices", status_notices_json(&press->notices));
	return object;
}

bool status_notices_have(const struct status_notices *notices, const char *text)
{
	for (size_t i = 0; i < notices->count; i++) {
		if (strcmp(notices->texts[i], text) == 0)
			return true;
	}
	return false;
}

bool status_notices_equal(const struct status_notices *one, const struct status_notices *other)
{
	bool equal = one->count == other->count;

	for (size_t i = 0; equal && i < one->count; i++)
		equal = strcmp(one->texts[i], other->texts[i]) == 0;
	return equal;
}

json_t *status_notices_json(const struct status_notices *notices)
{
	json_t *list = json_array();

	for (size_t i = 0; i < notices->count; i++)
		json_array_append_new(list, json_string(notices->texts[i]));
	return list;
}

/* A notice too many, or too long, is cut: it is for reading only. */
bool status_notices_read(const json_t *list, struct status_notices *notices, struct message *why)
{
	*notices = (struct status_notices){.count = 0};
	if (!json_is_array(list))
		return message_set(why, "\"notices\" is not a list");
	for (size_t i = 0; i < json_array_size(list) && i < STATUS_NOTICES_MAX; i++) {
		const char *text = json_string_value(json_array_get(list, i));

		if (!text)
			return message_set(why, "\"notices\" is not a list of texts");
		snprintf(notices->texts[notices->count++], STATUS_TEXT_SIZE, "%s", text);
	}
	return true;
}

static bool cell_state_parse(const char *text, enum cell_state *state)
{
	for (int i = CELL_READY; i <= CELL_ABSENT; i++) {
		if (strcmp(status_cell_text((enum cell_state)i), text) != 0)
			continue;
		*state = (enum cell_state)i;
		return true;
	}
	return false;
}

bool status_cell_read(const json_t *object, struct status_cell *cell, struct message *why)
{
	struct fields fields;
	char state[16] = "";
	int64_t reading_count = 0, error_count = 0;

	*cell = (struct status_cell){.state = CELL_ABSENT};
	fields_init(&fields, object, "the cell", why);
	if (fields.failed)
		return false;
	fields_text(&fields, "cell", FIELDS_REQUIRED, cell->name, sizeof cell->name);
	fields_text(&fields, "device", FIELDS_REQUIRED, cell->device, sizeof cell->device);
	fields_text(&fields, "state", FIELDS_REQUIRED, state, sizeof state);
	fields_text(&fields, "text", FIELDS_OPTIONAL, cell->text, sizeof cell->text);
	fields_integer(&fields, "readings", FIELDS_OPTIONAL, 0, INT64_MAX, &reading_count);
	fields_integer(&fields, "errors", FIELDS_OPTIONAL, 0, INT64_MAX, &error_count);
	if (fields.failed)
		return false;
	cell->reading_count = (uint64_t)reading_count;
	cell->error_count = (uint64_t)error_count;
	return cell_state_parse(state, &cell->state) ||
	       message_set(why, "\"state\" is \"%s\", which this program does not know", state);
}

static bool read_cells(const json_t *list, struct status_press *press, struct message *why)
{
	if (!json_is_array(list) || json_array_size(list) > SUM_CELLS_MAX)
		return message_set(why, "\"cells\" is not a list of at most %d", SUM_CELLS_MAX);
	press->cell_count = json_array_size(list);
	for (size_t i = 0; i < press->cell_count; i++) {
		if (!status_cell_read(json_array_get(list, i), &press->cells[i], why))
			return false;
	}
	return true;
}

bool status_press_read(const json_t *object, struct status_press *press, struct message *why)
{
	struct fields fields;
	char phase[16] = "";

	/* Who does not say so knows nothing of verification. */
	*press = (struct status_press){.phase = PHASE_IDLE, .reportable = true};
	fields_init(&fields, object, "the press", why);
	if (fields.failed)
		return false;
	fields_text(&fields, "press", FIELDS_REQUIRED, press->name, sizeof press->name);
	fields_text(&fields, "method", FIELDS_REQUIRED, press->method, sizeof press->method);
	fields_scaled(&fields, "capacity_n", FIELDS_REQUIRED, (double)UNITS_UN_PER_N,
		(double)(UNITS_LOAD_UN_MAX / UNITS_UN_PER_N), &press->capacity_un);
	fields_text(&fields, "phase", FIELDS_REQUIRED, phase, sizeof phase);
	fields_integer(&fields, "run", FIELDS_OPTIONAL, 1, INT64_MAX, &press->run);
	const json_t *seated = fields_get(&fields, "seated", FIELDS_OPTIONAL);
	const json_t *cells = fields_get(&fields, "cells", FIELDS_REQUIRED);
	const json_t *notices = fields_get(&fields, "notices", FIELDS_OPTIONAL);
	fields_bool(&fields, "reportable", FIELDS_OPTIONAL, &press->reportable);
	if (fields.failed || !read_cells(cells, press, why) ||
		(notices && !status_notices_read(notices, &press->notices, why)))
		return false;
	press->has_seated = seated != NULL;
	if (seated && !specimen_json_read(seated, &press->seated, why))
		return false;
	return status_phase_parse(phase, &press->phase) ||
	       message_set(why, "\"phase\" is \"%s\", which this program does not know", phase);
}
