/* SPDX-License-Identifier: MIT
 *
 * Lengths stay decimal until they are whole micrometres.
 */
#include "registration.h"

#include "base/decimal.h"
#include "base/text.h"
#include "base/units.h"
#include "result/age.h"
#include "result/methods.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define UM_PER_MM ((double)UNITS_UM_PER_MM)
#define UM_PER_INCH ((double)UNITS_UM_PER_INCH)
#define MG_PER_KG 1e6
#define MG_PER_LB 453592.37

/* ---- texts */

static bool take_text(char *target, size_t size, const char *text, struct message *why)
{
	size_t length = strlen(text);
	if (length == 0 || length >= size)
		return message_set(
			why, "must have 1 to %zu bytes, '%.60s' has %zu", size - 1, text, length);
	memcpy(target, text, length + 1);
	return true;
}

static bool take_set(struct registration *registration, const struct registration_field *field,
	const char *text, struct message *why)
{
	(void)field;
	return take_text(registration->specimen.set, sizeof registration->specimen.set, text, why);
}

static bool take_method(struct registration *registration, const struct registration_field *field,
	const char *text, struct message *why)
{
	(void)field;
	return take_text(
		registration->specimen.method, sizeof registration->specimen.method, text, why);
}

static bool take_pad(struct registration *registration, const struct registration_field *field,
	const char *text, struct message *why)
{
	(void)field;
	return take_text(registration->detail.pad, sizeof registration->detail.pad, text, why);
}

static bool take_lot(struct registration *registration, const struct registration_field *field,
	const char *text, struct message *why)
{
	(void)field;
	return take_text(registration->detail.lot, sizeof registration->detail.lot, text, why);
}

static bool take_cast(struct registration *registration, const struct registration_field *field,
	const char *text, struct message *why)
{
	(void)field;
	return clocks_utc_parse(text, &registration->specimen.cast) ||
	       message_set(why,
		       "'%.60s' is no ISO 8601 time with its zone, like 2026-11-18T09:30+01:00",
		       text);
}

static bool take_age(struct registration *registration, const struct registration_field *field,
	const char *text, struct message *why)
{
	(void)field;
	return age_parse(text, &registration->detail.intended_age_ns) ||
	       message_set(why, "'%.60s' is no age such as 28d or 24h", text);
}

static bool take_ends(struct registration *registration, const struct registration_field *field,
	const char *text, struct message *why)
{
	(void)field;
	return detail_ends_parse(text, &registration->detail.ends) ||
	       message_set(why, "'%.60s': ground, bonded, unbonded or \"as cast\" is meant", text);
}

static bool take_moist(struct registration *registration, const struct registration_field *field,
	const char *text, struct message *why)
{
	(void)field;
	return detail_moist_parse(text, &registration->detail.moist) ||
	       message_set(why, "'%.60s': yes or no is meant", text);
}

/* ---- numbers */

static bool take_positive(const char *text, double *value, struct message *why)
{
	struct decimal decimal;
	if (!decimal_parse(text, strlen(text), &decimal) || decimal.mantissa <= 0)
		return message_set(why, "must be a number above zero, not '%.60s'", text);
	*value = decimal_double(decimal);
	return true;
}

/* Whole small units, so that every decimal a person measures stays what it is. */
static bool take_scaled(
	const char *text, double factor, double most, int64_t *value, struct message *why)
{
	struct decimal decimal;
	if (!decimal_parse(text, strlen(text), &decimal) || decimal.mantissa < 0 ||
		decimal_double(decimal) * factor > most)
		return message_set(why, "'%.60s' is no such number", text);
	*value = llround(decimal_double(decimal) * factor);
	return true;
}

static bool take_anticipated(struct registration *registration,
	const struct registration_field *field, const char *text, struct message *why)
{
	double *strength_pa = &registration->specimen.anticipated_pa;
	bool good = take_positive(text, strength_pa, why);
	*strength_pa *= field->factor;
	return good;
}

static bool take_rate(struct registration *registration, const struct registration_field *field,
	const char *text, struct message *why)
{
	double *rate_pa_s = &registration->specimen.chosen_rate_pa_s;
	bool good = take_positive(text, rate_pa_s, why);
	*rate_pa_s *= field->factor;
	return good;
}

static bool take_mass(struct registration *registration, const struct registration_field *field,
	const char *text, struct message *why)
{
	static const double most = 1e4 * MG_PER_KG; /* ten tonnes: another unit */
	bool good = take_scaled(text, field->factor, most, &registration->detail.mass_mg, why);
	return good && (registration->detail.mass_mg > 0 ||
			       message_set(why, "must be a number above zero, not '%.60s'", text));
}

static bool take_hardness(struct registration *registration, const struct registration_field *field,
	const char *text, struct message *why)
{
	int64_t hardness = 0;
	if (!take_scaled(text, field->factor, 100, &hardness, why) || hardness == 0)
		return message_set(why, "'%.60s' is no Shore A hardness: a number up to 100", text);
	registration->detail.pad_hardness = (int)hardness;
	return true;
}

static bool take_square(struct registration *registration, const struct registration_field *field,
	const char *text, struct message *why)
{
	static const double most = 90e6; /* a right angle, in millionths of a degree */
	return take_scaled(
		text, field->factor, most, &registration->detail.out_of_square_udeg, why);
}

static bool take_plane(struct registration *registration, const struct registration_field *field,
	const char *text, struct message *why)
{
	return take_scaled(
		text, field->factor, 100 * UM_PER_MM, &registration->detail.out_of_plane_um, why);
}

/* ---- measures */

static bool parse_length(const char *text, size_t length, double um_per_unit, int64_t *um)
{
	/* Millionths of the unit, so that every decimal a person measures is still exact. */
	enum { PLACES = 6, MILLION = 1000000 };
	const int64_t most = INT64_C(1000000000); /* 1 km in um */
	int64_t factor = (int64_t)um_per_unit, millionths;
	struct decimal decimal;
	if (!decimal_parse(text, length, &decimal) || !decimal_scaled(decimal, PLACES, &millionths))
		return false;
	if (millionths <= 0 || millionths > most / factor * MILLION)
		return false;
	*um = (millionths * factor + MILLION / 2) / MILLION;
	return true;
}

/* Measures with commas between them. */
static bool take_list(const char *text, double um_per_unit, int64_t *values, size_t most,
	size_t *count, struct message *why)
{
	const char *rest = text;
	*count = 0;
	for (;;) {
		size_t length = strcspn(rest, ",");
		if (*count == most)
			return message_set(why, "'%.60s' has more than %zu measures", text, most);
		if (!parse_length(rest, length, um_per_unit, &values[(*count)++]))
			return message_set(why,
				strchr(text, ',') ? "'%.60s' is no length, nor several with "
						    "commas between"
						  : "'%.60s' is no length",
				text);
		if (!rest[length])
			return true;
		rest += length + 1;
	}
}

static bool take_widths(struct registration *registration, const struct registration_field *field,
	const char *text, struct message *why)
{
	struct detail *detail = &registration->detail;
	bool cylinder = field->shape == SHAPE_CYLINDER;
	if (registration->has_shape)
		return message_set(why, "the cross-section is given twice, here as '%.60s'", text);
	registration->has_shape = true;
	registration->specimen.shape = field->shape;
	return take_list(text, field->factor, detail->widths_um, cylinder ? DETAIL_WIDTHS_MAX : 2,
		&detail->width_count, why);
}

static bool take_lengths(struct registration *registration, const struct registration_field *field,
	const char *text, struct message *why)
{
	struct detail *detail = &registration->detail;
	return take_list(text, field->factor, detail->lengths_um, DETAIL_LENGTHS_MAX,
		&detail->length_count, why);
}

const struct registration_field registration_fields[] = {
	{"set", "SET", "the companions' set: one batch and age", 2, take_set, 0, 0},
	{"method", "METHOD", NULL, 2, take_method, 0, 0},
	{"cast", "TIME", "when it was cast, e.g. 2026-11-18T09:30+01:00", 2, take_cast, 0, 0},
	{"age", "AGE", "the age at which it is to be tested, like 28d or 24h", 2, take_age, 0, 0},
	{"anticipated-mpa", "F", "the strength it is expected to have", 2, take_anticipated,
		UNITS_PASCAL_PER_MPA, 0},
	{"anticipated-psi", "F", "the same in psi", 2, take_anticipated, UNITS_PASCAL_PER_PSI, 0},
	{"rate-mpa-s", "R", "the rate chosen, where the method lets one choose", 2, take_rate,
		UNITS_PASCAL_PER_MPA, 0},
	{"diameter-mm", "D[,D...]",
		"a cylinder's diameter, or several, two by two at right angles at mid-height", 3,
		take_widths, UM_PER_MM, SHAPE_CYLINDER},
	{"diameter-in", "D[,D...]", "the same in inches", 3, take_widths, UM_PER_INCH,
		SHAPE_CYLINDER},
	{"length-mm", "L[,L...]", "a cylinder's length, or several round the circumference", 3,
		take_lengths, UM_PER_MM, SHAPE_CYLINDER},
	{"length-in", "L[,L...]", "the same in inches", 3, take_lengths, UM_PER_INCH,
		SHAPE_CYLINDER},
	{"side-mm", "A[,B]", "a cube's loaded face", 4, take_widths, UM_PER_MM, SHAPE_CUBE},
	{"side-in", "A[,B]", "the same in inches", 4, take_widths, UM_PER_INCH, SHAPE_CUBE},
	{"prism-mm", "A,B", "the loaded face of a prism that stands upright", 4, take_widths,
		UM_PER_MM, SHAPE_PRISM},
	{"prism-in", "A,B", "the same in inches", 4, take_widths, UM_PER_INCH, SHAPE_PRISM},
	{"height-mm", "H", "a cube's or a prism's height", 4, take_lengths, UM_PER_MM, SHAPE_CUBE},
	{"height-in", "H", "the same in inches", 4, take_lengths, UM_PER_INCH, SHAPE_CUBE},
	{"beam-mm", "W,D", "a beam's width and depth", 5, take_widths, UM_PER_MM, SHAPE_BEAM},
	{"beam-in", "W,D", "the same in inches", 5, take_widths, UM_PER_INCH, SHAPE_BEAM},
	{"span-mm", "S", "the span between a beam's supports", 5, take_lengths, UM_PER_MM,
		SHAPE_BEAM},
	{"span-in", "S", "the same in inches", 5, take_lengths, UM_PER_INCH, SHAPE_BEAM},
	{"mass-kg", "M", "its mass, surface-dry, before it is capped: gives the density", 6,
		take_mass, MG_PER_KG, 0},
	{"mass-lb", "M", "the same in pounds", 6, take_mass, MG_PER_LB, 0},
	{"ends", "WORD", "ground, bonded (caps), unbonded (pads in rings) or \"as cast\"", 6,
		take_ends, 0, 0},
	{"pad", "NAME", "which pair of pads: their uses are counted", 6, take_pad, 0, 0},
	{"hardness", "N", "of the pads, Shore A", 6, take_hardness, 1, 0},
	{"square-deg", "A", "by how much an end is out of square", 6, take_square, 1e6, 0},
	{"plane-mm", "P", "by how much an end is out of plane", 6, take_plane, UM_PER_MM, 0},
	{"plane-in", "P", "the same in inches", 6, take_plane, UM_PER_INCH, 0},
	{"moist", "yes|no", "whether it was kept moist until the test", 6, take_moist, 0, 0},
	{"lot", "LOT", "of its mould", 6, take_lot, 0, 0},
	{0},
};

void registration_init(struct registration *registration)
{
	*registration = (struct registration){0};
	detail_init(&registration->detail);
}

bool registration_take(
	struct registration *registration, size_t field, const char *text, struct message *why)
{
	const struct registration_field *row = &registration_fields[field];
	return row->take(registration, row, text, why);
}

bool registration_is_unmeasured(const struct registration *registration)
{
	return !registration->has_shape && registration->detail.lot[0];
}

/* One or two widths, and one length, are the specimen's own; of more their mean is. */
static void settle(struct registration *registration)
{
	struct specimen *specimen = &registration->specimen;
	struct detail *detail = &registration->detail;
	if (detail->reduced) {
		/* the lot's mean is there already; what was measured stays beside it */
	} else if (detail->width_count <= 2) {
		specimen->width_um[0] = detail->widths_um[0];
		specimen->width_um[1] = detail->widths_um[detail->width_count == 2];
		detail->width_count = 0;
	} else {
		specimen->width_um[0] = detail_mean_um(detail->widths_um, detail->width_count);
		specimen->width_um[1] = specimen->width_um[0];
	}
	specimen->length_um = detail_mean_um(detail->lengths_um, detail->length_count);
	if (detail->length_count == 1)
		detail->length_count = 0;
}

bool registration_finish(struct registration *registration, struct message *why)
{
	if (!registration->specimen.id[0])
		return message_set(why, "which specimen? Its ID comes first");
	if (!registration->has_shape)
		return message_set(why,
			"the strength needs an area: give --diameter-mm and --length-mm, "
			"--side-mm, --prism-mm or --beam-mm");
	settle(registration);
	return registration_check(registration, why);
}

static bool find_method(const char *name, struct message *why)
{
	char buffer[MESSAGE_SIZE];
	struct text names;
	if (method_find(name))
		return true;
	text_init(&names, buffer, sizeof(buffer));
	for (size_t i = 0; i < methods_count(); i++)
		text_format(&names, " %s", methods_at(i)->name);
	return message_set(why, "there is no method '%s'; there are:%.300s", name, buffer);
}

bool registration_check(const struct registration *registration, struct message *why)
{
	const struct specimen *specimen = &registration->specimen;
	struct detail_flags flags;
	if (!find_method(specimen->method, why) || !specimen_check(specimen, why))
		return false;
	const struct method *method = method_find(specimen->method);
	return method_specimen_check(method, specimen, why) &&
	       detail_check(method, specimen, &registration->detail, 0, &flags, why);
}
