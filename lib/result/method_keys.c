/* SPDX-License-Identifier: MIT
 *
 * A reader for each kind of value, and the table that says which key is of which kind. A new key is
 * one row here, one member of struct method, and one line of docs/adding-a-method.md.
 */
#include "result/method_keys.h"

#include "base/text.h"
#include "judge/judge.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static char *target(const struct method_key *key, struct method *method)
{
	return (char *)method + key->offset;
}

/* ---- kinds of values */

static bool read_text(
	const struct method_key *key, char *value, struct method *method, struct message *why)
{
	if (strlen(value) >= key->size)
		return message_set(why, "longer than %zu bytes", key->size - 1);
	if (!text_is_printable(value))
		return message_set(why, "not printable UTF-8");
	strcpy(target(key, method), value);
	return value[0] != '\0';
}

static bool read_real(
	const struct method_key *key, char *value, struct method *method, struct message *why)
{
	double number;
	(void)why;
	if (!method_value(value, key->units, &number))
		return false;
	memcpy(target(key, method), &number, sizeof number);
	return true;
}

/* Two doubles, the second one right behind the first. */
static bool read_range(
	const struct method_key *key, char *value, struct method *method, struct message *why)
{
	double pair[2];
	(void)why;
	if (!method_value_range(value, key->units, &pair[0], &pair[1]))
		return false;
	memcpy(target(key, method), pair, sizeof pair);
	return true;
}

static bool read_length(
	const struct method_key *key, char *value, struct method *method, struct message *why)
{
	double um;
	(void)why;
	if (!method_value(value, method_units_length, &um))
		return false;
	memcpy(target(key, method), &(int64_t){llround(um)}, sizeof(int64_t));
	return true;
}

static bool read_flag(
	const struct method_key *key, char *value, struct method *method, struct message *why)
{
	bool yes = strcmp(value, "yes") == 0;
	(void)why;
	*(bool *)target(key, method) = yes;
	return yes || strcmp(value, "no") == 0;
}

/* ---- keys with a meaning of their own */

static bool read_units(
	const struct method_key *key, char *value, struct method *method, struct message *why)
{
	(void)key;
	(void)why;
	method->inch_pound = strcmp(value, "inch-pound") == 0;
	return method->inch_pound || strcmp(value, "SI") == 0;
}

static bool read_unsure(
	const struct method_key *key, char *value, struct method *method, struct message *why)
{
	struct method_key one = *key;
	if (method->unsure_count == METHOD_UNSURE_MAX)
		return message_set(why, "more than %d of them", METHOD_UNSURE_MAX);
	one.offset += method->unsure_count++ * METHOD_LINE_SIZE;
	return read_text(&one, value, method, why);
}

static bool read_shapes(
	const struct method_key *key, char *value, struct method *method, struct message *why)
{
	char *rest = NULL;
	(void)key;
	for (char *word = strtok_r(value, " \t", &rest); word;
		word = strtok_r(NULL, " \t", &rest)) {
		enum shape shape;
		if (!shape_parse(word, &shape))
			return message_set(why, "there is no shape %.32s", word);
		method->shapes |= 1U << shape;
	}
	return method->shapes != 0;
}

static bool read_formula(
	const struct method_key *key, char *value, struct method *method, struct message *why)
{
	static const char *const words[] = {[METHOD_COMPRESSION] = "compression",
		[METHOD_SPLITTING] = "splitting",
		[METHOD_FLEXURE] = "flexure"};
	(void)key;
	(void)why;
	for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
		if (strcmp(value, words[i]) == 0) {
			method->formula = (enum method_formula)i;
			return true;
		}
	}
	return false;
}

static bool read_nominal(
	const struct method_key *key, char *value, struct method *method, struct message *why)
{
	char *parts[METHOD_PARTS_MAX];
	double um;
	(void)key;
	(void)why;
	if (method_value_parts(value, parts) != 2 ||
		!method_value(parts[0], method_units_length, &um) ||
		!method_value(parts[1], method_units_share, &method->nominal_within))
		return false;
	method->nominal_um = llround(um);
	return true;
}

static bool read_density(
	const struct method_key *key, char *value, struct method *method, struct message *why)
{
	const char *unit;
	int exponent;
	(void)key;
	(void)why;
	if (!method_value_step(value, &method->density_step, &exponent, &unit) || exponent != 0 ||
		(strcmp(unit, "kg/m3") != 0 && strcmp(unit, "lb/ft3") != 0))
		return false;
	strcpy(method->density_unit, unit);
	return true;
}

static bool read_reduced(
	const struct method_key *key, char *value, struct method *method, struct message *why)
{
	char *parts[METHOD_PARTS_MAX];
	double um;
	(void)key;
	(void)why;
	if (method_value_parts(value, parts) != 3 ||
		!method_value_count(parts[0], 1000, &method->reduced_one_in) ||
		!method_value_count(parts[1], 1000, &method->reduced_a_day) ||
		!method_value(parts[2], method_units_length, &um))
		return false;
	method->reduced_within_um = llround(um);
	return true;
}

static bool read_face(
	const struct method_key *key, char *value, struct method *method, struct message *why)
{
	char *parts[METHOD_PARTS_MAX];
	double width_um, face_um;
	(void)key;
	if (method->face_count == METHOD_FACES_MAX)
		return message_set(why, "more than %d of them", METHOD_FACES_MAX);
	if (method_value_parts(value, parts) != 2 ||
		!method_value(parts[0], method_units_length, &width_um) ||
		!method_value(parts[1], method_units_length, &face_um))
		return false;
	method->faces[method->face_count++] =
		(struct method_face){llround(width_um), llround(face_um)};
	return true;
}

static bool read_pad(
	const struct method_key *key, char *value, struct method *method, struct message *why)
{
	struct method_pad pad = {0};
	char *parts[METHOD_PARTS_MAX];
	size_t count = method_value_parts(value, parts);
	(void)key;
	if (method->pad_count == METHOD_PADS_MAX)
		return message_set(why, "more than %d of them", METHOD_PADS_MAX);
	if (count < 3 || !method_value_count(parts[0], 100, &pad.hardness) ||
		!method_value_range(parts[1], method_units_stress, &pad.low_pa, &pad.high_pa) ||
		!method_value_count(parts[2], 10000, &pad.uses))
		return false;
	pad.qualified = count == 4;
	if (pad.qualified && strcmp(parts[3], "qualified") != 0)
		return false;
	method->pads[method->pad_count++] = pad;
	return true;
}

static bool read_rate_unit(
	const struct method_key *key, char *value, struct method *method, struct message *why)
{
	(void)key;
	(void)why;
	return rate_unit_parse(value, &method->rate_unit);
}

static bool read_basis(
	const struct method_key *key, char *value, struct method *method, struct message *why)
{
	enum basis basis;
	(void)key;
	(void)why;
	if (!basis_parse(value, &basis))
		return false;
	method->basis_anticipated = basis == BASIS_ANTICIPATED;
	return true;
}

static bool read_window(
	const struct method_key *key, char *value, struct method *method, struct message *why)
{
	double s;
	(void)key;
	if (!method_value(value, method_units_time, &s))
		return false;
	if (s < 0.5 || s > 60)
		return message_set(why, "a judging window lasts 0.5 to 60 s");
	method->window_ns = llround(s * 1e9);
	return true;
}

static bool read_report(
	const struct method_key *key, char *value, struct method *method, struct message *why)
{
	static const char figures[] = "figures ";
	const char *unit;
	double unit_pa;
	(void)key;
	(void)why;
	if (!method_value_step(value, &method->report_step, &method->report_exponent, &unit))
		return false;
	if (strncmp(unit, figures, sizeof figures - 1) == 0) {
		if (method->report_exponent != 0 || method->report_step > 6)
			return false;
		method->report_figures = method->report_step;
		method->report_step = 1;
		unit += sizeof figures - 1;
	}
	char one[METHOD_UNIT_SIZE + 2];
	if (snprintf(one, sizeof one, "1 %s", unit) >= (int)sizeof one ||
		!method_value(one, method_units_stress, &unit_pa))
		return false;
	strcpy(method->report_unit, unit);
	method->report_unit_pa = unit_pa;
	return method->report_exponent >= -6;
}

static bool read_factor_limit(
	const struct method_key *key, char *value, struct method *method, struct message *why)
{
	if (method->factor_ratio_max != 0)
		return message_set(why, "a limit for the factors was given already");
	method->factor_below = strcmp(key->name, "factor_below") == 0;
	return read_real(key, value, method, why);
}

static bool read_factor(
	const struct method_key *key, char *value, struct method *method, struct message *why)
{
	struct method_factor factor;
	char *parts[METHOD_PARTS_MAX];
	size_t count = method->factor_count;
	(void)key;
	if (count == METHOD_FACTORS_MAX)
		return message_set(why, "more than %d of them", METHOD_FACTORS_MAX);
	if (method_value_parts(value, parts) != 2 ||
		!method_value(parts[0], method_units_none, &factor.ratio) ||
		!method_value(parts[1], method_units_none, &factor.factor))
		return false;
	if (count > 0 && factor.ratio >= method->factors[count - 1].ratio)
		return message_set(why, "ratios must descend from line to line");
	method->factors[method->factor_count++] = factor;
	return true;
}

static bool read_size_factor(
	const struct method_key *key, char *value, struct method *method, struct message *why)
{
	char *parts[METHOD_PARTS_MAX];
	double um, factor;
	(void)key;
	if (method->size_factor_count == METHOD_FACTORS_MAX)
		return message_set(why, "more than %d of them", METHOD_FACTORS_MAX);
	if (method_value_parts(value, parts) != 2 ||
		!method_value(parts[0], method_units_length, &um) ||
		!method_value(parts[1], method_units_none, &factor))
		return false;
	method->size_factors[method->size_factor_count++] =
		(struct method_size_factor){llround(um), factor};
	return true;
}

static bool read_age(
	const struct method_key *key, char *value, struct method *method, struct message *why)
{
	char *parts[METHOD_PARTS_MAX];
	double age_s, tolerance_s;
	(void)key;
	if (method->age_count == METHOD_AGES_MAX)
		return message_set(why, "more than %d of them", METHOD_AGES_MAX);
	if (method_value_parts(value, parts) != 2 ||
		!method_value(parts[0], method_units_time, &age_s) ||
		!method_value(parts[1], method_units_time, &tolerance_s) || age_s > 1e9)
		return false;
	method->ages[method->age_count++] =
		(struct method_age){llround(age_s * 1e9), llround(tolerance_s * 1e9)};
	return true;
}

static bool read_companions(
	const struct method_key *key, char *value, struct method *method, struct message *why)
{
	struct method_range range = {0};
	char *parts[METHOD_PARTS_MAX];
	double um;
	(void)key;
	if (method->range_count == METHOD_RANGES_MAX)
		return message_set(why, "more than %d of them", METHOD_RANGES_MAX);
	if (method_value_parts(value, parts) != 4 ||
		!method_value(parts[0], method_units_length, &um) ||
		!method_value_count(parts[1], 100, &range.count) ||
		!method_value(parts[3], method_units_percent, &range.percent))
		return false;
	range.width_um = llround(um);
	range.field = strcmp(parts[2], "field") == 0;
	if (!range.field && strcmp(parts[2], "laboratory") != 0)
		return false;
	method->ranges[method->range_count++] = range;
	return true;
}

static bool read_fracture(
	const struct method_key *key, char *value, struct method *method, struct message *why)
{
	static const char *const worths[] = {"good", "doubt", "void", "distance"};
	enum { WORTHS = sizeof worths / sizeof worths[0] };
	struct method_fracture fracture = {0};
	char *type = value, *worth = strchr(value, ':');
	char *words = worth ? strchr(worth + 1, ':') : NULL;
	(void)key;
	if (!words)
		return false;
	*worth++ = '\0';
	*words++ = '\0';
	char *parts[METHOD_PARTS_MAX];
	method_value_parts(type, parts);
	if (!method_value_count(parts[0], METHOD_FRACTURES_MAX, &fracture.type))
		return false;
	if (method->fracture_count == METHOD_FRACTURES_MAX ||
		method_fracture(method, fracture.type))
		return message_set(why, "type %d was given already", fracture.type);
	method_value_parts(worth, parts);
	size_t at = 0;
	while (at < WORTHS && strcmp(parts[0], worths[at]) != 0)
		at++;
	words += strspn(words, " \t");
	if (at == WORTHS || !words[0] || strlen(words) >= sizeof fracture.words)
		return false;
	fracture.worth = (enum method_fracture_worth)at;
	strcpy(fracture.words, words);
	method->fractures[method->fracture_count++] = fracture;
	return true;
}

static bool read_clause(
	const struct method_key *key, char *value, struct method *method, struct message *why)
{
	char *parts[METHOD_PARTS_MAX];
	(void)key;
	if (method->clause_count == METHOD_CLAUSES_MAX)
		return message_set(why, "more than %d of them", METHOD_CLAUSES_MAX);
	struct method_clause *clause = &method->clauses[method->clause_count];
	if (method_value_parts(value, parts) != 2 || !parts[0][0] || !parts[1][0] ||
		strlen(parts[0]) >= sizeof clause->topic ||
		strlen(parts[1]) >= sizeof clause->number)
		return false;
	strcpy(clause->topic, parts[0]);
	strcpy(clause->number, parts[1]);
	method->clause_count++;
	return true;
}

/* ---- the table: one row a key */

#define AT(member) offsetof(struct method, member), sizeof(((struct method *)0)->member)
const struct method_key method_keys[] = {
	{"method", "name", "the file's name without .ini", read_text, AT(name), NULL, false},
	{"method", "standard", "the standard's number, as printed", read_text, AT(standard), NULL,
		false},
	{"method", "edition", "a year or a text", read_text, AT(edition), NULL, false},
	{"method", "title", "a text", read_text, AT(title), NULL, false},
	{"method", "units", "SI or inch-pound", read_units, AT(inch_pound), NULL, false},
	{"method", "unsure", "a sentence", read_unsure, AT(unsure[0]), NULL, true},
	{"specimen", "shapes", "cylinder, cube, prism, beam: one or several", read_shapes,
		AT(shapes), NULL, false},
	{"specimen", "formula", "compression, splitting or flexure", read_formula, AT(formula),
		NULL, false},
	{"specimen", "width_to", "a length like 0.25 mm", read_length, AT(width_to_um), NULL,
		false},
	{"specimen", "length_to", "a length like 1 mm", read_length, AT(length_to_um), NULL, false},
	{"specimen", "widths_apart", "a share like 2 %", read_real, AT(widths_apart),
		method_units_share, false},
	{"specimen", "nominal", "LENGTH : SHARE, like 50 mm : 1.5 %", read_nominal, AT(nominal_um),
		NULL, false},
	{"specimen", "square_within", "an angle like 0.5 deg", read_real, AT(square_within_deg),
		method_units_angle, false},
	{"specimen", "plane_within", "a length like 0.05 mm", read_length, AT(plane_within_um),
		NULL, false},
	{"specimen", "ratio_usual", "a range like 1.8 to 2.2", read_range, AT(ratio_usual_low),
		method_units_none, false},
	{"specimen", "moist", "yes or no", read_flag, AT(moist), NULL, false},
	{"specimen", "density_to", "a step like 10 kg/m3 or 1 lb/ft3", read_density,
		AT(density_step), NULL, false},
	{"specimen", "reduced", "ONE IN : A DAY : LENGTH, like 10 : 3 : 0.5 mm", read_reduced,
		AT(reduced_one_in), NULL, false},
	{"specimen", "upper_face", "WIDTH : LARGEST FACE, like 100 mm : 165 mm", read_face,
		AT(faces[0]), NULL, true},
	{"specimen", "pad",
		"HARDNESS : STRENGTHS : USES, like 50 : 10 to 40 MPa : 100, and : qualified",
		read_pad, AT(pads[0]), NULL, true},
	{"rate", "unit", "MPa/s, psi/s, MPa/min, psi/min, N/s or lbf/s", read_rate_unit,
		AT(rate_unit), NULL, false},
	{"rate", "band", "a range like 0.20 to 0.30, in the unit given", read_range, AT(band_low),
		method_units_none, false},
	{"rate", "chosen", "a range like 0.4 to 0.8, in the unit given", read_range, AT(chosen_low),
		method_units_none, false},
	{"rate", "default", "a number, in the unit given", read_real, AT(chosen_default),
		method_units_none, false},
	{"rate", "tolerance", "a share like 10 %", read_real, AT(chosen_tolerance),
		method_units_share, false},
	{"rate", "time", "a range like 60 to 120 s", read_range, AT(time_low_s), method_units_time,
		false},
	{"rate", "from", "a share like 50 %", read_real, AT(span_from), method_units_share, false},
	{"rate", "basis", "anticipated or maximum", read_basis, AT(basis_anticipated), NULL, false},
	{"rate", "to", "a share like 90 %", read_real, AT(span_to), method_units_share, false},
	{"rate", "window", "a time like 5 s", read_window, AT(window_ns), NULL, false},
	{"strength", "report", "a step like 0.1 MPa or 10 psi, or 3 figures MPa", read_report,
		AT(report_step), NULL, false},
	{"strength", "factor_at_most", "a ratio like 1.75", read_factor_limit, AT(factor_ratio_max),
		method_units_none, false},
	{"strength", "factor_below", "a ratio like 1.90", read_factor_limit, AT(factor_ratio_max),
		method_units_none, false},
	{"strength", "ratio_least", "a ratio like 1.00", read_real, AT(ratio_min),
		method_units_none, false},
	{"strength", "factor", "RATIO : FACTOR, like 1.50 : 0.96", read_factor, AT(factors[0]),
		NULL, true},
	{"strength", "size_factor", "WIDTH : FACTOR, like 100 mm : 0.95", read_size_factor,
		AT(size_factors[0]), NULL, true},
	{"age", "age", "AGE : TOLERANCE, like 28 d : 20 h", read_age, AT(ages[0]), NULL, true},
	{"age", "other", "a share like 2 %", read_real, AT(age_other), method_units_share, false},
	{"precision", "range",
		"WIDTH : COUNT : laboratory or field : SHARE, like 150 mm : 2 : field : 8.0 %",
		read_companions, AT(ranges[0]), NULL, true},
	{"precision", "apart", "a share like 15 %", read_real, AT(apart_max), method_units_share,
		false},
	{"fracture", "type", "TYPE : good, doubt, void or distance : WORDS", read_fracture,
		AT(fractures[0]), NULL, true},
	{"fracture", "crack_outside", "a share of the span like 5 %", read_real, AT(crack_outside),
		method_units_share, false},
	{"clause", "clause", "TOPIC : NUMBER, like rate : 8.5", read_clause, AT(clauses[0]), NULL,
		true},
};

_Static_assert(sizeof method_keys / sizeof method_keys[0] == METHOD_KEY_COUNT, "each key once");
