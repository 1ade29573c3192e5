/* SPDX-License-Identifier: MIT
 *
 * Lengths are millimetres and strengths megapascals here, since people read and type this object.
 */
#include "wire/specimen_json.h"

#include "base/units.h"
#include "wire/fields.h"

#include <math.h>
#include <string.h>

/* Wide enough for anything a press takes; only keeps the integers from overflowing. */
static const double LENGTH_MM_MAX = 1e6;
static const double STRESS_MPA_MAX = 1e6;

static void put(json_t *object, const char *key, json_t *value)
{
	json_object_set_new(object, key, value);
}

json_t *specimen_json(const struct specimen *specimen)
{
	json_t *object = json_object();
	char cast[CLOCKS_UTC_TEXT_SIZE];

	if (!object)
		return NULL;
	put(object, "id", json_string(specimen->id));
	if (specimen->set[0])
		put(object, "set", json_string(specimen->set));
	put(object, "shape", json_string(shape_text(specimen->shape)));
	put(object, "width_mm",
		json_pack("[f,f]", (double)specimen->width_um[0] / (double)UNITS_UM_PER_MM,
			(double)specimen->width_um[1] / (double)UNITS_UM_PER_MM));
	if (specimen->length_um)
		put(object, "length_mm",
			json_real((double)specimen->length_um / (double)UNITS_UM_PER_MM));
	if (specimen->cast.ns) {
		clocks_utc_text(specimen->cast, cast);
		put(object, "cast", json_string(cast));
	}
	if (specimen->anticipated_pa > 0)
		put(object, "anticipated_mpa",
			json_real(specimen->anticipated_pa / UNITS_PASCAL_PER_MPA));
	if (specimen->method[0])
		put(object, "method", json_string(specimen->method));
	if (specimen->chosen_rate_pa_s > 0)
		put(object, "rate_mpa_s",
			json_real(specimen->chosen_rate_pa_s / UNITS_PASCAL_PER_MPA));
	return object;
}

static bool read_widths(const json_t *list, struct specimen *specimen, struct message *why)
{
	if (!json_is_array(list) || json_array_size(list) != 2)
		return message_set(why, "\"width_mm\" is not a list of two numbers");
	for (size_t i = 0; i < 2; i++) {
		const json_t *value = json_array_get(list, i);
		double width_mm = json_number_value(value);

		if (!json_is_number(value) || !(fabs(width_mm) <= LENGTH_MM_MAX))
			return message_set(why, "\"width_mm\" is not a list of two numbers");
		specimen->width_um[i] = llround(width_mm * (double)UNITS_UM_PER_MM);
	}
	return true;
}

bool specimen_json_read(const json_t *object, struct specimen *specimen, struct message *why)
{
	struct fields fields;
	char shape[16] = "", cast[CLOCKS_UTC_TEXT_SIZE] = "";
	double anticipated_mpa = 0, rate_mpa_s = 0;

	*specimen = (struct specimen){.shape = SHAPE_CYLINDER};
	fields_init(&fields, object, "the specimen", why);
	if (fields.failed)
		return false;
	fields_text(&fields, "id", FIELDS_REQUIRED, specimen->id, sizeof specimen->id);
	fields_text(&fields, "set", FIELDS_OPTIONAL, specimen->set, sizeof specimen->set);
	fields_text(&fields, "shape", FIELDS_REQUIRED, shape, sizeof shape);
	fields_scaled(&fields, "length_mm", FIELDS_OPTIONAL, (double)UNITS_UM_PER_MM, LENGTH_MM_MAX,
		&specimen->length_um);
	fields_text(&fields, "cast", FIELDS_OPTIONAL, cast, sizeof cast);
	fields_number(
		&fields, "anticipated_mpa", FIELDS_OPTIONAL, 0, STRESS_MPA_MAX, &anticipated_mpa);
	fields_text(&fields, "method", FIELDS_OPTIONAL, specimen->method, sizeof specimen->method);
	fields_number(&fields, "rate_mpa_s", FIELDS_OPTIONAL, 0, STRESS_MPA_MAX, &rate_mpa_s);
	const json_t *widths = fields_get(&fields, "width_mm", FIELDS_REQUIRED);
	if (fields.failed || !read_widths(widths, specimen, why))
		return false;
	if (!shape_parse(shape, &specimen->shape))
		return message_set(why, "\"shape\" is \"%s\": cylinder or cube is meant", shape);
	if (cast[0] && !clocks_utc_parse(cast, &specimen->cast))
		return message_set(why, "\"cast\" is \"%s\": ISO 8601 is meant", cast);
	specimen->anticipated_pa = anticipated_mpa * UNITS_PASCAL_PER_MPA;
	specimen->chosen_rate_pa_s = rate_mpa_s * UNITS_PASCAL_PER_MPA;
	return true;
}
