/* SPDX-License-Identifier: MIT */
#include "wire/verification_json.h"

#include "base/units.h"
#include "wire/fields.h"

#include <math.h>

static const double LOAD_N_MAX = 1e8;

static json_t *newton(int64_t load_un)
{
	return json_real((double)load_un / (double)UNITS_UN_PER_N);
}

static void put(json_t *object, const char *key, json_t *value)
{
	json_object_set_new(object, key, value);
}

static json_t *time_json(struct utc_time time)
{
	char text[CLOCKS_UTC_TEXT_SIZE];

	clocks_utc_text(time, text);
	return json_string(text);
}

static json_t *loads_json(const int64_t *loads_un)
{
	json_t *list = json_array();

	for (size_t run = 0; run < VERIFICATION_RUNS; run++)
		json_array_append_new(list, newton(loads_un[run]));
	return list;
}

static json_t *force_json(const struct verification_force *force)
{
	json_t *object = json_object();

	if (force->true_un[0]) {
		put(object, "true_n", loads_json(force->true_un));
		put(object, "indicated_n", loads_json(force->indicated_un));
	}
	put(object, "error_percent",
		json_pack("[f,f]", force->error_percent[0], force->error_percent[1]));
	return object;
}

json_t *verification_json(const struct verification *verification)
{
	json_t *object = json_object(), *forces = json_array();

	if (verification->number)
		put(object, "number", json_integer(verification->number));
	put(object, "press", json_string(verification->press));
	put(object, "verified", time_json(verification->verified));
	put(object, "guided", json_boolean(verification->guided));
	put(object, "certificate", json_string(verification->certificate));
	put(object, "reference", json_string(verification->reference));
	put(object, "capacity_n", newton(verification->capacity_un));
	put(object, "increment_n", newton(verification->increment_un));
	put(object, "resolution_n", newton(verification->resolution_un));
	put(object, "return_n", loads_json(verification->return_un));
	for (size_t i = 0; i < verification->force_count; i++)
		json_array_append_new(forces, force_json(&verification->forces[i]));
	put(object, "forces", forces);
	put(object, "low_n", newton(verification->low_un));
	put(object, "high_n", newton(verification->high_un));
	put(object, "worst_percent", json_real(verification->worst_percent));
	put(object, "repeatability_percent", json_real(verification->repeatability_percent));
	put(object, "passed", json_boolean(verification->passed));
	put(object, "reason", json_string(verification->reason));
	return object;
}

void verification_json_standing(json_t *object, const struct standing *standing, int64_t maximum_un)
{
	struct message why = {""};
	bool reportable = standing_reportable(standing, maximum_un, &why);
	json_t *content = json_pack("{s:s}", "standing", standing_kind_text(standing->kind));

	put(object, "reportable", json_boolean(reportable));
	put(object, "not_reportable", reportable ? json_null() : json_string(why.text));
	if (standing->verification) {
		put(content, "number", json_integer(standing->verification));
		put(content, "verified", time_json(standing->verified));
		put(content, "due", time_json(standing->due));
		put(content, "low_n", newton(standing->low_un));
		put(content, "high_n", newton(standing->high_un));
	}
	put(object, "verification", content);
}

/* ---- reading */

/* A list of one number for each run; absent: the target keeps what it holds. */
static bool read_pair(
	const json_t *object, const char *key, double high, double *pair, struct message *why)
{
	const json_t *list = json_object_get(object, key);

	if (!list)
		return true;
	if (json_is_array(list) && json_array_size(list) == VERIFICATION_RUNS) {
		bool ok = true;

		for (size_t run = 0; run < VERIFICATION_RUNS; run++) {
			const json_t *value = json_array_get(list, run);

			pair[run] = json_number_value(value);
			ok = ok && json_is_number(value) && pair[run] >= -high && pair[run] <= high;
		}
		if (ok)
			return true;
	}
	return message_set(why, "\"%s\" is not a list of two numbers within %g", key, high);
}

static bool read_loads(
	const json_t *object, const char *key, int64_t *loads_un, struct message *why)
{
	double loads_n[VERIFICATION_RUNS] = {0};

	if (!read_pair(object, key, LOAD_N_MAX, loads_n, why))
		return false;
	for (size_t run = 0; run < VERIFICATION_RUNS; run++)
		loads_un[run] = llround(loads_n[run] * (double)UNITS_UN_PER_N);
	return true;
}

static bool read_forces(const json_t *list, struct verification *verification, struct message *why)
{
	if (!json_is_array(list) || json_array_size(list) > VERIFICATION_FORCES_MAX)
		return message_set(
			why, "\"forces\" is not a list of at most %d", VERIFICATION_FORCES_MAX);
	verification->force_count = json_array_size(list);
	for (size_t i = 0; i < verification->force_count; i++) {
		const json_t *object = json_array_get(list, i);
		struct verification_force *force = &verification->forces[i];

		if (!read_loads(object, "true_n", force->true_un, why) ||
			!read_loads(object, "indicated_n", force->indicated_un, why) ||
			!read_pair(object, "error_percent", 100, force->error_percent, why))
			return false;
	}
	return true;
}

static void read_load(struct fields *fields, const char *key, enum fields_need need, int64_t *un)
{
	fields_scaled(fields, key, need, (double)UNITS_UN_PER_N, LOAD_N_MAX, un);
}

bool verification_json_read(
	const json_t *object, struct verification *verification, struct message *why)
{
	struct fields fields;
	char verified[CLOCKS_UTC_TEXT_SIZE] = "";

	*verification = (struct verification){.number = 0};
	fields_init(&fields, object, "the verification", why);
	if (fields.failed)
		return false;
	fields_text(&fields, "verified", FIELDS_REQUIRED, verified, sizeof verified);
	fields_bool(&fields, "guided", FIELDS_REQUIRED, &verification->guided);
	fields_text(&fields, "certificate", FIELDS_OPTIONAL, verification->certificate,
		sizeof verification->certificate);
	fields_text(&fields, "reference", FIELDS_REQUIRED, verification->reference,
		sizeof verification->reference);
	read_load(&fields, "increment_n", FIELDS_REQUIRED, &verification->increment_un);
	read_load(&fields, "resolution_n", FIELDS_REQUIRED, &verification->resolution_un);
	read_load(&fields, "low_n", FIELDS_OPTIONAL, &verification->low_un);
	read_load(&fields, "high_n", FIELDS_OPTIONAL, &verification->high_un);
	const json_t *forces = fields_get(&fields, "forces", FIELDS_REQUIRED);
	if (fields.failed || !read_forces(forces, verification, why) ||
		!read_loads(object, "return_n", verification->return_un, why))
		return false;
	return clocks_utc_parse(verified, &verification->verified) ||
	       message_set(why, "\"verified\" is \"%s\": ISO 8601 is meant", verified);
}
