/* SPDX-License-Identifier: MIT
 *
 * Units a person reads stand in the names; within they are whole small units, so that nothing is
 * lost on the way there and back.
 */
#include "wire/detail_json.h"

#include "base/units.h"
#include "wire/fields.h"

#include <math.h>
#include <string.h>

static const double HOUR_NS = 3600e9;
static const double MG_PER_KG = 1e6;
static const double UDEG_PER_DEG = 1e6;
static const double STRESS_MPA_MAX = 1e3;
/* Only keep the integers from overflowing. */
static const double AGE_H_MAX = 876600; /* 100 years */
static const double MASS_KG_MAX = 1e4;
static const double ANGLE_DEG_MAX = 90;
static const double LENGTH_MM_MAX = 1e4;
static const int HARDNESS_MAX = 100; /* where Shore's scale ends */

static void put_text(json_t *object, const char *key, const char *text)
{
	if (text[0])
		json_object_set_new(object, key, json_string(text));
}

static void put_number(json_t *object, const char *key, int64_t value, double unit, bool there)
{
	if (there)
		json_object_set_new(object, key, json_real((double)value / unit));
}

static void put_lengths(json_t *object, const char *key, const int64_t *values_um, size_t count)
{
	json_t *list = json_array();

	for (size_t i = 0; i < count; i++)
		json_array_append_new(
			list, json_real((double)values_um[i] / (double)UNITS_UM_PER_MM));
	if (count > 0)
		json_object_set(object, key, list);
	json_decref(list);
}

json_t *detail_json(const struct detail *detail)
{
	json_t *object = json_object();

	put_number(object, "age_h", detail->intended_age_ns, HOUR_NS, detail->intended_age_ns > 0);
	put_number(object, "mass_kg", detail->mass_mg, MG_PER_KG, detail->mass_mg > 0);
	if (detail->ends != DETAIL_ENDS_UNSTATED)
		put_text(object, "ends", detail_ends_text(detail->ends));
	put_text(object, "pad", detail->pad);
	if (detail->pad_hardness)
		json_object_set_new(object, "hardness", json_integer(detail->pad_hardness));
	put_number(object, "square_deg", detail->out_of_square_udeg, UDEG_PER_DEG,
		detail->out_of_square_udeg >= 0);
	put_number(object, "plane_mm", detail->out_of_plane_um, (double)UNITS_UM_PER_MM,
		detail->out_of_plane_um >= 0);
	if (detail->moist != DETAIL_MOIST_UNSTATED)
		put_text(object, "moist", detail_moist_text(detail->moist));
	put_text(object, "lot", detail->lot);
	if (detail->reduced)
		json_object_set_new(object, "reduced", json_true());
	put_lengths(object, "widths_mm", detail->widths_um, detail->width_count);
	put_lengths(object, "lengths_mm", detail->lengths_um, detail->length_count);
	return object;
}

static void read_lengths(
	struct fields *fields, const char *key, int64_t *values_um, size_t most, size_t *count)
{
	const json_t *list = fields_get(fields, key, FIELDS_OPTIONAL);

	if (!list || fields->failed)
		return;
	*count = json_array_size(list);
	bool good = json_is_array(list) && *count <= most;
	for (size_t i = 0; good && i < *count; i++) {
		const json_t *value = json_array_get(list, i);
		double length_mm = json_number_value(value);

		good = json_is_number(value) && length_mm > 0 && length_mm <= LENGTH_MM_MAX;
		values_um[i] = good ? llround(length_mm * (double)UNITS_UM_PER_MM) : 0;
	}
	if (!good)
		fields->failed = !message_set(
			fields->why, "\"%s\" is not a list of at most %zu lengths", key, most);
}

static void read_words(struct fields *fields, struct detail *detail)
{
	char ends[16] = "", moist[16] = "";

	fields_text(fields, "ends", FIELDS_OPTIONAL, ends, sizeof ends);
	fields_text(fields, "moist", FIELDS_OPTIONAL, moist, sizeof moist);
	if (fields->failed)
		return;
	if (ends[0] && !detail_ends_parse(ends, &detail->ends))
		fields->failed = !message_set(fields->why,
			"\"ends\" is \"%s\": as cast, ground, bonded or unbonded is meant", ends);
	else if (moist[0] && !detail_moist_parse(moist, &detail->moist))
		fields->failed =
			!message_set(fields->why, "\"moist\" is \"%s\": yes or no is meant", moist);
}

bool detail_json_read(const json_t *object, struct detail *detail, struct message *why)
{
	struct fields fields;
	int64_t hardness = 0;

	detail_init(detail);
	fields_init(&fields, object, "the detail", why);
	if (fields.failed)
		return false;
	fields_scaled(
		&fields, "age_h", FIELDS_OPTIONAL, HOUR_NS, AGE_H_MAX, &detail->intended_age_ns);
	fields_scaled(
		&fields, "mass_kg", FIELDS_OPTIONAL, MG_PER_KG, MASS_KG_MAX, &detail->mass_mg);
	fields_text(&fields, "pad", FIELDS_OPTIONAL, detail->pad, sizeof detail->pad);
	fields_integer(&fields, "hardness", FIELDS_OPTIONAL, 0, HARDNESS_MAX, &hardness);
	fields_scaled(&fields, "square_deg", FIELDS_OPTIONAL, UDEG_PER_DEG, ANGLE_DEG_MAX,
		&detail->out_of_square_udeg);
	fields_scaled(&fields, "plane_mm", FIELDS_OPTIONAL, (double)UNITS_UM_PER_MM, LENGTH_MM_MAX,
		&detail->out_of_plane_um);
	fields_text(&fields, "lot", FIELDS_OPTIONAL, detail->lot, sizeof detail->lot);
	fields_bool(&fields, "reduced", FIELDS_OPTIONAL, &detail->reduced);
	read_lengths(
		&fields, "widths_mm", detail->widths_um, DETAIL_WIDTHS_MAX, &detail->width_count);
	read_lengths(&fields, "lengths_mm", detail->lengths_um, DETAIL_LENGTHS_MAX,
		&detail->length_count);
	read_words(&fields, detail);
	if (!fields.failed && (detail->mass_mg < 0 || detail->intended_age_ns < 0))
		fields.failed = !message_set(why, "\"mass_kg\" and \"age_h\" cannot be below zero");
	detail->pad_hardness = (int)hardness;
	return !fields.failed;
}

json_t *detail_flags_json(const struct detail_flags *flags)
{
	json_t *list = json_array();

	for (size_t i = 0; i < flags->count; i++)
		json_array_append_new(list, json_string(flags->flags[i].text));
	return list;
}

json_t *set_terms_json(const struct set_terms *terms)
{
	json_t *object = json_object();

	put_text(object, "set", terms->set);
	put_text(object, "series", terms->series);
	put_text(object, "rule", acceptance_rule_text(terms->rule));
	if (terms->specified_pa > 0)
		json_object_set_new(object, "specified_mpa",
			json_real(terms->specified_pa / UNITS_PASCAL_PER_MPA));
	if (terms->sigma_pa > 0)
		json_object_set_new(
			object, "sigma_mpa", json_real(terms->sigma_pa / UNITS_PASCAL_PER_MPA));
	json_object_set_new(object, "field", json_boolean(terms->field));
	return object;
}

bool set_terms_json_read(const json_t *object, struct set_terms *terms, struct message *why)
{
	char rule[24] = "none";
	double specified_mpa = 0, sigma_mpa = 0;
	struct fields fields;

	*terms = (struct set_terms){.rule = ACCEPTANCE_NONE};
	fields_init(&fields, object, "the terms", why);
	if (fields.failed)
		return false;
	fields_text(&fields, "set", FIELDS_REQUIRED, terms->set, sizeof terms->set);
	fields_text(&fields, "series", FIELDS_OPTIONAL, terms->series, sizeof terms->series);
	fields_text(&fields, "rule", FIELDS_OPTIONAL, rule, sizeof rule);
	fields_number(&fields, "specified_mpa", FIELDS_OPTIONAL, 0, STRESS_MPA_MAX, &specified_mpa);
	fields_number(&fields, "sigma_mpa", FIELDS_OPTIONAL, 0, STRESS_MPA_MAX, &sigma_mpa);
	fields_bool(&fields, "field", FIELDS_OPTIONAL, &terms->field);
	if (!fields.failed && !acceptance_rule_parse(rule, &terms->rule))
		fields.failed = !message_set(why,
			"\"rule\" is \"%s\": none, aci-318, en-206-initial or en-206-continuous is "
			"meant",
			rule);
	terms->specified_pa = specified_mpa * UNITS_PASCAL_PER_MPA;
	terms->sigma_pa = sigma_mpa * UNITS_PASCAL_PER_MPA;
	return !fields.failed && set_terms_check(terms, why);
}
