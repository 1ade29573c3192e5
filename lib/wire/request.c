/* SPDX-License-Identifier: MIT
 *
 * Requests: a table of names, one reader for each. Duplicate attributes are refused, since two
 * readers would not agree on which one counts.
 */
#include "wire/request.h"

#include "base/units.h"
#include "wire/detail_json.h"
#include "wire/fields.h"
#include "wire/issued_json.h"
#include "wire/specimen_json.h"
#include "wire/verification_json.h"

#include <stdlib.h>
#include <string.h>

static void read_watch(struct fields *fields, struct request *request)
{
	fields_text(fields, "press", FIELDS_OPTIONAL, request->press, sizeof request->press);
	fields_integer(fields, "interval_ms", FIELDS_OPTIONAL, 0, REQUEST_INTERVAL_MS_MAX,
		&request->interval_ms);
}

static void read_register(struct fields *fields, struct request *request)
{
	const json_t *specimen = fields_get(fields, "specimen", FIELDS_REQUIRED);

	if (specimen && !fields->failed)
		fields->failed = !specimen_json_read(specimen, &request->specimen, fields->why);
	const json_t *detail = fields_get(fields, "detail", FIELDS_OPTIONAL);
	if (detail && !fields->failed)
		fields->failed = !detail_json_read(detail, &request->detail, fields->why);
}

static void read_seat(struct fields *fields, struct request *request)
{
	fields_text(fields, "press", FIELDS_REQUIRED, request->press, sizeof request->press);
	fields_text(fields, "specimen", FIELDS_REQUIRED, request->specimen_id,
		sizeof request->specimen_id);
}

static void read_fracture(struct fields *fields, struct request *request)
{
	int64_t type = 0;

	fields_integer(fields, "run", FIELDS_REQUIRED, 1, INT64_MAX, &request->run);
	fields_integer(
		fields, "type", FIELDS_REQUIRED, FRACTURE_TYPE_MIN, FRACTURE_TYPE_MAX, &type);
	fields_scaled(fields, "crack_mm", FIELDS_OPTIONAL, (double)UNITS_UM_PER_MM,
		REQUEST_CRACK_MM_MAX, &request->crack_um);
	fields_text(fields, "note", FIELDS_OPTIONAL, request->note, sizeof request->note);
	request->type = (int)type;
}

static void read_verification(struct fields *fields, struct request *request)
{
	const json_t *object = fields_get(fields, "verification", FIELDS_REQUIRED);

	fields_text(fields, "press", FIELDS_REQUIRED, request->press, sizeof request->press);
	if (object && !fields->failed)
		fields->failed =
			!verification_json_read(object, &request->verification, fields->why);
}

static void read_upkeep(struct fields *fields, struct request *request)
{
	char kind[24] = "", happened[CLOCKS_UTC_TEXT_SIZE] = "";

	fields_text(fields, "press", FIELDS_REQUIRED, request->press, sizeof request->press);
	fields_text(fields, "kind", FIELDS_REQUIRED, kind, sizeof kind);
	fields_text(fields, "note", FIELDS_OPTIONAL, request->note, sizeof request->note);
	fields_text(fields, "happened", FIELDS_OPTIONAL, happened, sizeof happened);
	if (fields->failed)
		return;
	if (!upkeep_parse(kind, &request->upkeep))
		fields->failed = !message_set(fields->why,
			"\"kind\" is \"%s\": relocation, repair, doubt or socket_care is meant",
			kind);
	else if (happened[0] && !clocks_utc_parse(happened, &request->happened))
		fields->failed = !message_set(
			fields->why, "\"happened\" is \"%s\": ISO 8601 is meant", happened);
}

static void read_zero(struct fields *fields, struct request *request)
{
	fields_text(fields, "press", FIELDS_REQUIRED, request->press, sizeof request->press);
	fields_text(fields, "note", FIELDS_OPTIONAL, request->note, sizeof request->note);
}

static void read_reason(struct fields *fields, struct request *request)
{
	fields_text(fields, "reason", FIELDS_REQUIRED, request->note, sizeof request->note);
}

static void read_correct_specimen(struct fields *fields, struct request *request)
{
	read_register(fields, request);
	read_reason(fields, request);
}

static const char *const CORRECTIONS[] = {
	[REQUEST_OTHER_SPECIMEN] = "specimen",
	[REQUEST_VOID] = "void",
	[REQUEST_VALID] = "valid",
};

enum { CORRECTION_COUNT = sizeof CORRECTIONS / sizeof CORRECTIONS[0] };

static void read_correct_run(struct fields *fields, struct request *request)
{
	char kind[16] = "";
	size_t i = REQUEST_OTHER_SPECIMEN;

	fields_integer(fields, "run", FIELDS_REQUIRED, 1, INT64_MAX, &request->run);
	fields_text(fields, "kind", FIELDS_REQUIRED, kind, sizeof kind);
	while (i < CORRECTION_COUNT && strcmp(CORRECTIONS[i], kind) != 0)
		i++;
	if (!fields->failed && i == CORRECTION_COUNT)
		fields->failed = !message_set(
			fields->why, "\"kind\" is \"%s\": specimen, void or valid is meant", kind);
	request->correction =
		i < CORRECTION_COUNT ? (enum request_correction)i : REQUEST_NO_CORRECTION;
	if (request->correction == REQUEST_OTHER_SPECIMEN)
		fields_text(fields, "specimen", FIELDS_REQUIRED, request->specimen_id,
			sizeof request->specimen_id);
	read_reason(fields, request);
}

static void read_confirm_method(struct fields *fields, struct request *request)
{
	fields_text(fields, "method", FIELDS_REQUIRED, request->method, sizeof request->method);
	fields_text(
		fields, "text", FIELDS_REQUIRED, request->method_text, sizeof request->method_text);
	fields_text(fields, "edition", FIELDS_REQUIRED, request->edition, sizeof request->edition);
	fields_text(fields, "note", FIELDS_OPTIONAL, request->note, sizeof request->note);
}

static void read_set_terms(struct fields *fields, struct request *request)
{
	const json_t *terms = fields_get(fields, "terms", FIELDS_REQUIRED);

	if (terms && !fields->failed)
		fields->failed = !set_terms_json_read(terms, &request->terms, fields->why);
}

static void read_report(struct fields *fields, struct request *request)
{
	const json_t *report = fields_get(fields, "report", FIELDS_REQUIRED);

	if (report && !fields->failed)
		fields->failed = !issued_json_read(report, &request->issued, fields->why);
}

static const struct {
	const char *name;
	void (*read)(struct fields *fields, struct request *request);
} ASKS[] = {
	[REQUEST_STATUS] = {"status", NULL},
	[REQUEST_WATCH] = {"watch", read_watch},
	[REQUEST_REGISTER] = {"register", read_register},
	[REQUEST_SEAT] = {"seat", read_seat},
	[REQUEST_FRACTURE] = {"fracture", read_fracture},
	[REQUEST_VERIFICATION] = {"verification", read_verification},
	[REQUEST_UPKEEP] = {"upkeep", read_upkeep},
	[REQUEST_ZERO] = {"zero", read_zero},
	[REQUEST_CORRECT_SPECIMEN] = {"correct_specimen", read_correct_specimen},
	[REQUEST_CORRECT_RUN] = {"correct_run", read_correct_run},
	[REQUEST_CONFIRM_METHOD] = {"confirm_method", read_confirm_method},
	[REQUEST_SET_TERMS] = {"set_terms", read_set_terms},
	[REQUEST_REPORT] = {"report", read_report},
};

enum { ASK_COUNT = sizeof ASKS / sizeof ASKS[0] };

static bool read_object(const json_t *object, struct request *request, struct message *why)
{
	struct fields fields;
	char ask[24] = "";
	size_t i = 0;

	fields_init(&fields, object, "the line", why);
	if (fields.failed)
		return false;
	request->id = json_incref(json_object_get(object, "id"));
	fields_text(&fields, "ask", FIELDS_REQUIRED, ask, sizeof ask);
	if (fields.failed)
		return false;
	while (i < ASK_COUNT && strcmp(ASKS[i].name, ask) != 0)
		i++;
	if (i == ASK_COUNT)
		return message_set(why,
			"\"ask\" is \"%s\": status, watch, register, seat, fracture, verification, "
			"upkeep, zero, correct_specimen, correct_run, confirm_method, set_terms or "
			"report is meant",
			ask);
	request->ask = (enum request_ask)i;
	if (ASKS[i].read)
		ASKS[i].read(&fields, request);
	return !fields.failed;
}

bool request_read(const char *line, size_t length, struct request *request, struct message *why)
{
	json_error_t error;
	json_t *object = json_loadb(line, length, JSON_REJECT_DUPLICATES, &error);

	*request = (struct request){.interval_ms = REQUEST_INTERVAL_MS_DEFAULT};
	detail_init(&request->detail);
	if (!object)
		return message_set(why,
			"the line is not JSON: %s at byte %d; send one JSON object"
			" per line",
			error.text, error.position);
	bool ok = read_object(object, request, why);
	json_decref(object);
	return ok;
}

void request_finish(struct request *request)
{
	json_decref(request->id);
	request->id = NULL;
}

static void put_text(json_t *object, const char *key, const char *text)
{
	if (text[0])
		json_object_set_new(object, key, json_string(text));
}

static void put_upkeep(json_t *object, const struct request *request)
{
	char happened[CLOCKS_UTC_TEXT_SIZE] = "";

	if (request->happened.ns)
		clocks_utc_text(request->happened, happened);
	put_text(object, "press", request->press);
	put_text(object, "kind", upkeep_text(request->upkeep));
	put_text(object, "happened", happened);
	put_text(object, "note", request->note);
}

static void put_registration(json_t *object, const struct request *request)
{
	json_object_set_new(object, "specimen", specimen_json(&request->specimen));
	if (!detail_is_empty(&request->detail))
		json_object_set_new(object, "detail", detail_json(&request->detail));
}

static void put_arguments(json_t *object, const struct request *request)
{
	switch (request->ask) {
	case REQUEST_STATUS:
		break;
	case REQUEST_WATCH:
		put_text(object, "press", request->press);
		json_object_set_new(object, "interval_ms", json_integer(request->interval_ms));
		break;
	case REQUEST_REGISTER:
		put_registration(object, request);
		break;
	case REQUEST_SEAT:
		put_text(object, "press", request->press);
		put_text(object, "specimen", request->specimen_id);
		break;
	case REQUEST_FRACTURE:
		json_object_set_new(object, "run", json_integer(request->run));
		json_object_set_new(object, "type", json_integer(request->type));
		if (request->crack_um)
			json_object_set_new(object, "crack_mm",
				json_real((double)request->crack_um / (double)UNITS_UM_PER_MM));
		put_text(object, "note", request->note);
		break;
	case REQUEST_VERIFICATION:
		put_text(object, "press", request->press);
		json_object_set_new(
			object, "verification", verification_json(&request->verification));
		break;
	case REQUEST_UPKEEP:
		put_upkeep(object, request);
		break;
	case REQUEST_ZERO:
		put_text(object, "press", request->press);
		put_text(object, "note", request->note);
		break;
	case REQUEST_CORRECT_SPECIMEN:
		put_registration(object, request);
		put_text(object, "reason", request->note);
		break;
	case REQUEST_CORRECT_RUN:
		json_object_set_new(object, "run", json_integer(request->run));
		put_text(object, "kind", CORRECTIONS[request->correction]);
		put_text(object, "specimen", request->specimen_id);
		put_text(object, "reason", request->note);
		break;
	case REQUEST_CONFIRM_METHOD:
		put_text(object, "method", request->method);
		put_text(object, "text", request->method_text);
		put_text(object, "edition", request->edition);
		put_text(object, "note", request->note);
		break;
	case REQUEST_SET_TERMS:
		json_object_set_new(object, "terms", set_terms_json(&request->terms));
		break;
	case REQUEST_REPORT:
		json_object_set_new(object, "report", issued_json(&request->issued));
		break;
	}
}

char *request_line(const struct request *request)
{
	json_t *object = json_object();

	if (request->id)
		json_object_set(object, "id", request->id);
	put_text(object, "ask", ASKS[request->ask].name);
	put_arguments(object, request);
	char *text = json_dumps(object, JSON_COMPACT | JSON_REAL_PRECISION(15));
	json_decref(object);
	if (!text)
		return NULL;
	size_t length = strlen(text);
	char *line = realloc(text, length + 2);
	if (!line) {
		free(text);
		return NULL;
	}
	line[length] = '\n';
	line[length + 1] = '\0';
	return line;
}

json_t *request_answer(json_t *id)
{
	json_t *answer = json_object();

	if (id)
		json_object_set(answer, "id", id);
	json_object_set_new(answer, "ok", json_true());
	return answer;
}

json_t *request_refusal(json_t *id, const char *error)
{
	json_t *answer = request_answer(id);

	json_object_set_new(answer, "ok", json_false());
	/* A text cut in the middle of a character is no JSON. */
	if (json_object_set_new(answer, "error", json_string(error)) != 0)
		json_object_set_new(answer, "error", json_string("refused"));
	return answer;
}

bool request_answer_read(const json_t *answer, struct message *why)
{
	struct fields fields;
	bool ok = false;
	const char *error = json_string_value(json_object_get(answer, "error"));

	fields_init(&fields, answer, "the answer", why);
	if (fields.failed)
		return false;
	fields_bool(&fields, "ok", FIELDS_REQUIRED, &ok);
	if (fields.failed || ok)
		return !fields.failed;
	return message_set(why, "%s", error ? error : "refused without a reason");
}
